// From a request to the map of its ring: which pixels are made and where each takes its colour. Knows sets of pixels and
// places in the picture, no colours (but for asking which pixels show, or look like background).
import { hashOf } from "./cache.ts";
import { type Frame, frameOf, pictured, pixels } from "./frame.ts";
import { nearest } from "./nearest-map.ts";
import type { BleedRequest } from "./request.ts";
import { type Rim, rimOf } from "./rim.ts";
import { block, count, dilate, disc, intersect, isEmpty, minus, type Runs, union } from "./runs.ts";
import { eachPixel, inPicture, sourcesFor } from "./search.ts";
import { decide, type Decided, type Sets, setsOf } from "./sets.ts";
import { softMargin } from "./taps.ts";
import { mirroring } from "./texture.ts";

/** How far the ring goes under the picture: with 3 px no renderer tried shows a seam. */
const UNDERLAP = 4;
/** Nearest sources around the ring, wide enough for soft spread. */
export interface Field {
  readonly pixels: Runs;
  readonly from: Int32Array;
  /** Sources that show. */
  readonly source: Runs;
}

export interface Ring {
  readonly bytes: number;
  /** Every pixel of the ring, band and underlap. */
  readonly pixels: Runs;
  /** Those of them inside the contour that are no source and lie over it. */
  readonly inner: Runs;
  /** For each, in order, the pixel of the picture that gives its value (its own where it is a source); -1: blank. */
  readonly from: Int32Array;
  /** Band pixels inside the reach, by centre: drawn already, or made by us (blank where that is the nearest). */
  readonly own: number;
  readonly made: number;
  /** Whether anything made shows. */
  readonly shows: boolean;
  /** Whether colour that stopped short of the contour was carried out to it. */
  readonly carried: boolean;
  /** Least width of colour around the body, pixels. */
  readonly least: number;
  readonly rim: Rim;
  readonly field?: Field;
}

/** Least distance from the body to a pixel beyond the coloured band. */
const leastWidth = (body: Runs, around: Runs, width: number, reach: number): number => {
  const map = nearest({ source: body, target: around, width, reach, stride: width, offset: 0 });
  let least = Number.POSITIVE_INFINITY;
  for (let y = 0; y < around.rows; y++) {
    let at = map.before[y];
    for (let i = around.start[y]; i < around.start[y + 1]; i += 2)
      for (let x = around.ends[i]; x < around.ends[i + 1]; x++) {
        const from = map.from[at++];
        if (from < 0) continue;
        const dx = x - (from % width);
        const dy = y - Math.floor(from / width);
        least = Math.min(least, dx * dx + dy * dy);
      }
  }
  return Math.sqrt(least);
};

/** Where source pixels of the ring keep their own value, the rest takes that of the nearest. Places on the canvas. */
const withSources = (ring: Runs, target: Runs, from: Int32Array, width: number): Int32Array => {
  const out = new Int32Array(count(ring));
  let at = 0;
  let taken = 0;
  for (let y = 0; y < ring.rows; y++) {
    let t = target.start[y];
    const tEnd = target.start[y + 1];
    for (let i = ring.start[y]; i < ring.start[y + 1]; i += 2) {
      const to = ring.ends[i + 1];
      for (let x = ring.ends[i]; x < to; ) {
        if (t < tEnd && target.ends[t] === x) {
          const n = target.ends[t + 1] - x;
          out.set(from.subarray(taken, taken + n), at);
          taken += n;
          at += n;
          x += n;
          t += 2;
        } else {
          const stop = t < tEnd && target.ends[t] < to ? target.ends[t] : to;
          for (; x < stop; x++) out[at++] = y * width + x;
        }
      }
    }
  }
  return out;
};

/** The ring of a request, remembered when its contour and the sets its pixels decide have been met before; nothing when the
 * region shows nothing. */
export const ringOf = (request: BleedRequest): { frame: Frame; ring: Ring | undefined } => {
  const { grid, cache } = request;
  const soft = request.spread === "soft";
  const air = soft
    ? softMargin(request.bleed / Math.min(grid.box.width / grid.width, grid.box.height / grid.height))
    : 0;
  const frame = frameOf(grid, request.reach, air);
  const gap = request.gap / Math.min(frame.stepX, frame.stepY);
  const sets = setsOf(frame, request, gap);
  const decided = decide(frame, request, sets, gap);
  if (!decided || isEmpty(decided.source)) return { frame, ring: undefined };
  const { source, own, strip, shown } = decided;
  const key =
    cache &&
    [
      "ring",
      [grid.width, grid.height, grid.box.x, grid.box.y, frame.stepX, frame.stepY],
      [request.source, request.bleed, request.gap, request.spread],
      cache.digestOf(request.parts),
      cache.digestOf(request.reach),
      hashOf(
        ...[source, own, strip, shown.blank, shown.solid, shown.seen, shown.tinge].flatMap(({ start, ends }) => [
          start,
          ends,
        ]),
      ),
    ].join();
  const known = key && cache.recall<Ring>(key);
  if (known) return { frame, ring: known };
  const ring = made(frame, request, sets, decided, { gap, air: soft ? air : undefined });
  if (key) cache.remember(key, ring);
  return { frame, ring };
};

const made = (
  frame: Frame,
  request: BleedRequest,
  { body, reach, covered, band, zone }: Sets,
  decided: Decided,
  { gap, air }: { readonly gap: number; readonly air: number | undefined },
): Ring => {
  const { width } = frame;
  const { source, own, open, strip, shown } = decided;
  const carried = !isEmpty(strip);
  const under = UNDERLAP + (carried ? Math.ceil(gap) + 1 : 0);
  const ringSet = union(union(band, intersect(zone, dilate(band, disc(under * under), width))), strip);
  const bleed = pixels(frame, request.bleed);
  const target = minus(ringSet, source);
  const found = sourcesFor(frame, target, decided, bleed + 2);
  if (shown.twoLevel && air === undefined) {
    const mirrored = mirroring(zone, intersect(body, pictured(frame)), intersect(shown.solid, zone), width);
    eachPixel(target, width, (place, i) => (found[i] = mirrored(place, found[i])));
  }
  const places = withSources(ringSet, target, found, width);
  const from = inPicture(frame, shown.blank, places);
  const inBand = minus(reach, body);
  const ownKept = intersect(intersect(own, source), inBand);
  // Edges drawn on a white ground are half ground: those give way, where transparent ones are laid over the ring.
  const ground = dilate(minus(shown.white, source), block(1), width);
  const besideGround = intersect(union(shown.opaque, shown.white), ground);
  const wide = air === undefined ? undefined : minus(union(dilate(covered, disc(air * air), width), ringSet), source);
  const field = wide &&
    air !== undefined && {
      pixels: wide,
      from: inPicture(frame, shown.blank, sourcesFor(frame, wide, decided, bleed + 2 + air)),
      source: minus(source, shown.blank),
    };
  return {
    bytes:
      (field ? field.from.byteLength + field.pixels.ends.byteLength + field.source.ends.byteLength : 0) +
      from.byteLength +
      ringSet.ends.byteLength +
      ringSet.start.byteLength,
    pixels: ringSet,
    inner: minus(minus(intersect(ringSet, body), source), besideGround),
    from,
    own: count(ownKept),
    made: count(inBand) - count(ownKept),
    shows: from.some((index) => index >= 0),
    carried,
    least: leastWidth(body, minus(covered, reach), width, bleed + 2),
    rim: rimOf(body, open, shown, strip, width),
    ...(field ? { field } : {}),
  };
};
