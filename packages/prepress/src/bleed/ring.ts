// From a request to the map of its ring: which pixels are made and where each takes its colour. Knows sets of pixels and
// places in the picture, no colours (but for asking which pixels are opaque or look like page).
import { digestOf, hashOf } from "./cache.ts";
import type { Patch } from "./connected.ts";
import { type Frame, frameOf, onCanvas, originOf, pictured, pixels, ringsOf } from "./frame.ts";
import { gapsOf } from "./gaps.ts";
import { nearest } from "./nearest-map.ts";
import { opaque, washes } from "./opaque.ts";
import { ownBleed } from "./own.ts";
import { rasterise } from "./raster.ts";
import type { BleedRequest } from "./request.ts";
import { block, count, dilate, disc, intersect, isEmpty, minus, type Runs, union } from "./runs.ts";
import { sourcesOf } from "./sources.ts";
import { softMargin } from "./taps.ts";

/** How far the ring goes under the artwork: with 3 px no renderer tried shows a seam. */
const UNDERLAP = 4;

/** Nearest sources around the ring, wide enough for soft spread. */
export interface Field {
  readonly pixels: Runs;
  readonly from: Int32Array;
  readonly source: Runs;
}

export interface Ring {
  readonly bytes: number;
  /** Every pixel of the ring, band and underlap. */
  readonly pixels: Runs;
  /** Those of them inside the contour that are no source. */
  readonly inner: Runs;
  /** For each, in order, the pixel of the picture that gives its value (its own where it is a source); -1: paper. */
  readonly from: Int32Array;
  /** Band pixels inside the reach, by centre: drawn by the designer, made by us, left paper. */
  readonly own: number;
  readonly made: number;
  readonly bare: number;
  /** Least width of colour around the body, pixels. */
  readonly least: number;
  readonly gaps: readonly Patch[];
  readonly field?: Field;
}

/** Least distance from the body to a pixel beyond the coloured band. */
const leastWidth = (body: Runs, around: Runs, width: number, reach: number): number => {
  const map = nearest({ source: body, target: around, width, reach, stride: width, offset: 0 });
  let least = Number.POSITIVE_INFINITY;
  for (let y = 0; y < around.rows; y++) {
    let at = map.before[y] as number;
    for (let i = around.start[y] as number; i < (around.start[y + 1] as number); i += 2)
      for (let x = around.ends[i] as number; x < (around.ends[i + 1] as number); x++) {
        const from = map.from[at++] as number;
        if (from < 0) continue;
        const dx = x - (from % width);
        const dy = y - Math.floor(from / width);
        least = Math.min(least, dx * dx + dy * dy);
      }
  }
  return Math.sqrt(least);
};

/** Where source pixels of the ring keep their own value, the rest takes that of the nearest. */
const withSources = (
  ring: Runs,
  made: { target: Runs; from: Int32Array },
  stride: number,
  offset: number,
): Int32Array => {
  const out = new Int32Array(count(ring));
  const { target, from } = made;
  let at = 0;
  let taken = 0;
  for (let y = 0; y < ring.rows; y++) {
    let t = target.start[y] as number;
    const tEnd = target.start[y + 1] as number;
    for (let i = ring.start[y] as number; i < (ring.start[y + 1] as number); i += 2) {
      const to = ring.ends[i + 1] as number;
      for (let x = ring.ends[i] as number; x < to; ) {
        if (t < tEnd && (target.ends[t] as number) === x) {
          const n = (target.ends[t + 1] as number) - x;
          out.set(from.subarray(taken, taken + n), at);
          taken += n;
          at += n;
          x += n;
          t += 2;
        } else {
          const stop = t < tEnd && (target.ends[t] as number) < to ? (target.ends[t] as number) : to;
          for (; x < stop; x++) out[at++] = y * stride + x + offset;
        }
      }
    }
  }
  return out;
};

/** The ring of a request, remembered when nothing but the contour decides it or the source set has been met before;
 * nothing when no pixel may give its colour. */
export const ringOf = (request: BleedRequest): { frame: Frame; ring: Ring | undefined } => {
  const { grid, cache } = request;
  const soft = request.spread === "soft";
  const air = soft
    ? softMargin(request.bleed / Math.min(grid.box.width / grid.width, grid.box.height / grid.height))
    : 0;
  const frame = frameOf(grid, request.reach, air);
  // With neither alpha nor own bleed the source set follows from the contour: no pixel need be looked at.
  const blind = !grid.alpha && request.ownBleed === false;
  const plain =
    cache &&
    [
      "ring",
      [grid.width, grid.height, grid.box.x, grid.box.y, frame.stepX, frame.stepY],
      [request.source, request.bleed, request.maxGap, request.spread],
      digestOf(request.parts),
      digestOf(request.reach),
    ].join();
  const known = blind && plain ? cache?.recall<Ring>(plain) : undefined;
  if (known) return { frame, ring: known };

  const { width, rows } = frame;
  const rings = onCanvas(frame, ringsOf(request.parts));
  const reachRings = onCanvas(frame, ringsOf(request.reach));
  const picture = pictured(frame);
  const body = rasterise(rings, width, rows);
  const reach = union(rasterise(reachRings, width, rows), body);
  // Straddling pixels too: the clip cuts them, and one ring more does no harm.
  const covered = dilate(reach, block(1), width);
  const band = minus(covered, body);
  const isOpaque = (set: Runs): Runs => opaque(frame, set);
  const opaqueBody = isOpaque(intersect(body, picture));
  const wash = washes(frame, intersect(body, picture), opaqueBody, intersect(covered, picture));
  const solid = union(opaqueBody, wash);
  const own = ownBleed(frame, request, body, solid, intersect(band, picture));
  const drawn = { picture, body, solid, own, covered, rings, width };
  const source = sourcesOf(drawn, request.source, isOpaque);
  if (isEmpty(source)) return { frame, ring: undefined };

  const key = plain && !blind ? `${plain}${hashOf(source.start, source.ends, own.start, own.ends, solid.ends)}` : plain;
  const met = key && !blind ? cache?.recall<Ring>(key) : undefined;
  if (met) return { frame, ring: met };

  const gaps = gapsOf(body, solid, pixels(frame, request.maxGap), width);
  const under = minus(intersect(body, dilate(band, disc(UNDERLAP * UNDERLAP), width)), gaps.left);
  const ringSet = union(union(band, under), gaps.small);
  const bleed = pixels(frame, request.bleed);
  const search = {
    source,
    width,
    reach: bleed + 2,
    // Colour from farther away is no continuation of the artwork but specks at the edge of a white piece.
    limit: bleed + 2 * pixels(frame, request.maxGap) + 2,
    stride: grid.width,
    offset: originOf(frame),
  };
  const made = nearest({ ...search, target: minus(ringSet, source) });
  const from = withSources(ringSet, made, grid.width, originOf(frame));
  const inBand = minus(reach, body);
  const ownKept = intersect(intersect(own, source), inBand);
  let bare = 0;
  for (const index of made.from) if (index < 0) bare++;
  const wide = soft ? minus(union(dilate(covered, disc(air * air), width), ringSet), source) : undefined;
  const field = wide && {
    pixels: wide,
    from: nearest({ ...search, target: wide, reach: search.reach + air, limit: search.limit + air }).from,
    source,
  };
  const ring: Ring = {
    bytes:
      (field ? field.from.byteLength + wide.ends.byteLength + source.ends.byteLength : 0) +
      from.byteLength +
      ringSet.ends.byteLength +
      ringSet.start.byteLength,
    pixels: ringSet,
    inner: minus(intersect(ringSet, body), source),
    from,
    own: count(ownKept),
    made: count(inBand) - count(ownKept),
    bare,
    least: leastWidth(body, minus(covered, reach), width, bleed + 2),
    gaps: gaps.wide,
    ...(field ? { field } : {}),
  };
  if (key) cache?.remember(key, ring);
  return { frame, ring };
};
