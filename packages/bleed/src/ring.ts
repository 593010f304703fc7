// From a request to the map of its ring: which pixels are made and where each takes its colour. Knows sets of pixels and
// places in the picture, no colours (but for asking which pixels print, or look like page).
import { digestOf, hashOf } from "./cache.ts";
import { type Frame, frameOf, onCanvas, originOf, pictured, pixels, ringsOf } from "./frame.ts";
import { nearest } from "./nearest-map.ts";
import { ownBleed } from "./own.ts";
import { type Printed, printedOf } from "./printed.ts";
import { rasterise } from "./raster.ts";
import type { BleedRequest } from "./request.ts";
import { type Rim, rimOf } from "./rim.ts";
import { block, count, dilate, disc, has, intersect, isEmpty, minus, rectangle, type Runs, union } from "./runs.ts";
import { sourcesOf } from "./sources.ts";
import { stripOf } from "./strip.ts";
import { softMargin } from "./taps.ts";

/** How far the ring goes under the artwork: with 3 px no renderer tried shows a seam. */
const UNDERLAP = 4;
/** How far inside the contour, beyond the gap, a source may lie: fringe, residue and underlap. */
const INSIDE = 12;
/** Along the cut, µm, below which white of a picture that knows nothing but ink and paper is no gap but its texture. */
const TEXTURE = 1000;

/** Nearest sources around the ring, wide enough for soft spread. */
export interface Field {
  readonly pixels: Runs;
  readonly from: Int32Array;
  /** Sources that print. */
  readonly source: Runs;
}

export interface Ring {
  readonly bytes: number;
  /** Every pixel of the ring, band and underlap. */
  readonly pixels: Runs;
  /** Those of them inside the contour that are no source and lie over it. */
  readonly inner: Runs;
  /** For each, in order, the pixel of the picture that gives its value (its own where it is a source); -1: paper. */
  readonly from: Int32Array;
  /** Band pixels inside the reach, by centre: drawn by the designer, made by us (paper where that is the nearest). */
  readonly own: number;
  readonly made: number;
  /** Whether anything made prints. */
  readonly prints: boolean;
  /** Whether artwork that stopped short of the cut was carried out to it. */
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

/** Where source pixels of the ring keep their own value, the rest takes that of the nearest. Places on the canvas. */
const withSources = (ring: Runs, target: Runs, from: Int32Array, width: number): Int32Array => {
  const out = new Int32Array(count(ring));
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
          for (; x < stop; x++) out[at++] = y * width + x;
        }
      }
    }
  }
  return out;
};

/** Sets of one request that follow from its contour and its frame. */
interface Sets {
  readonly picture: Runs;
  readonly body: Runs;
  readonly reach: Runs;
  readonly covered: Runs;
  readonly band: Runs;
  /** Of body: as far from the contour as the ring may look. */
  readonly zone: Runs;
  readonly rings: readonly Float64Array[];
}

const setsOf = (frame: Frame, { parts, reach: around }: BleedRequest, gap: number): Sets => {
  const { width, rows } = frame;
  const rings = onCanvas(frame, ringsOf(parts));
  const body = rasterise(rings, width, rows);
  const reach = union(rasterise(onCanvas(frame, ringsOf(around)), width, rows), body);
  // Straddling pixels too: the clip cuts them, and one ring more does no harm.
  const covered = dilate(reach, block(1), width);
  const outside = minus(rectangle(rows, 0, 0, width, rows), body);
  const deep = Math.ceil(gap) + INSIDE;
  return {
    picture: pictured(frame),
    body,
    reach,
    covered,
    band: minus(covered, body),
    zone: intersect(body, dilate(outside, disc(deep * deep), width)),
    rings,
  };
};

/** What the pixels of a request decide: its sources, and what is filled. */
interface Decided {
  readonly zone: Runs;
  /** Of zone: the pixels along the cut. */
  readonly edge: Runs;
  readonly printed: Printed;
  readonly own: Runs;
  readonly open: Runs;
  readonly strip: Runs;
  readonly source: Runs;
}

/** @returns nothing when the piece has no ink at all */
const decide = (frame: Frame, request: BleedRequest, sets: Sets, gap: number): Decided | undefined => {
  const { picture, body, covered, band, zone, rings } = sets;
  const { width } = frame;
  const kind = request.source;
  const printed = printedOf(frame, union(zone, band), picture, kind);
  if (isEmpty(intersect(body, picture))) return undefined;
  if (
    request.grid.alpha &&
    isEmpty(intersect(printed.seen, zone)) &&
    isEmpty(printedOf(frame, body, picture, kind).seen)
  )
    return undefined;
  const edge = intersect(zone, picture);
  const own = ownBleed(frame, request, { body, edge, band: intersect(band, picture), printed });
  const open = minus(band, own);
  const texture = printed.twoLevel ? pixels(frame, TEXTURE) : 0;
  const strip = stripOf({ body, width, open, printed, gap, least: Math.max(2, gap, texture) });
  const opaque = union(printed.opaque, printed.white);
  const drawn = { picture, body, zone, strip, printed, own, covered, rings, width };
  const atCut = intersect(zone, dilate(band, block(1), width));
  return {
    zone,
    edge: atCut,
    printed,
    own,
    open,
    strip,
    source: sourcesOf(drawn, kind, (set) => intersect(set, opaque)),
  };
};

/** Sources of pixels that are made, as places on the canvas; -1: paper. A tinge that no eye sees is not carried out. */
const sourcesFor = (frame: Frame, target: Runs, decided: Decided, reach: number): Int32Array => {
  const isTinge = memberOf(decided.printed.tinge, frame.width);
  return search(frame, target, decided, reach).map((index) => (index >= 0 && isTinge(index) ? -1 : index));
};

/** Nearest sources, as places on the canvas. Own bleed is carried farther out, never sideways: only where what the piece
 * itself has nearest prints. */
const search = (frame: Frame, target: Runs, decided: Decided, reach: number): Int32Array => {
  const { width } = frame;
  const { source, own, printed } = decided;
  const request = { target, width, reach, stride: width, offset: 0 };
  const { from } = nearest({ ...request, source });
  const drawn = intersect(source, own);
  const body = minus(source, drawn);
  if (isEmpty(drawn) || isEmpty(body)) return asAtTheCut(frame, target, decided, from, reach);
  const ofBody = asAtTheCut(frame, target, decided, nearest({ ...request, source: body }).from, reach);
  const isPaper = memberOf(union(printed.paper, printed.tinge), width);
  const isDrawn = memberOf(drawn, width);
  return ofBody.map((index, i) =>
    index < 0 || isPaper(index) || !isDrawn(from[i] as number) ? index : (from[i] as number),
  );
};

/**
 * What lies nearest at the cut decides between ink and paper. Sources stand back from it, by the strip here and by fringe
 * there: the side that stands back less would win ground from the other, the more the farther out (7 pixels at 24 for one).
 * The strip takes the nearest ink and gives it on.
 */
const asAtTheCut = (
  { width }: Frame,
  target: Runs,
  { zone, edge, source, strip, printed }: Decided,
  from: Int32Array,
  reach: number,
): Int32Array => {
  if (isEmpty(strip) && isEmpty(intersect(printed.paper, edge))) return from;
  const search = { width, reach, stride: width, offset: 0 };
  const filled = nearest({ ...search, source: intersect(source, printed.seen), target: strip });
  const inks = new Map<number, number>();
  eachPixel(strip, width, (place, i) => inks.set(place, filled.from[i] as number));
  const next = nearest({ ...search, source: zone, target: minus(target, zone) }).from;
  const out = from.slice();
  let taken = 0;
  const isInside = memberOf(zone, width);
  const isSolid = memberOf(printed.solid, width);
  const isPaper = memberOf(minus(printed.paper, strip), width);
  // Spikes thinner than a pixel give colour from beyond the contour.
  const isBody = memberOf(zone, width);
  eachPixel(target, width, (place, i) => {
    const nearer = isInside(place) ? place : (next[taken++] as number);
    const now = from[i] as number;
    const ink = inks.get(nearer);
    if (ink !== undefined) {
      if (!isSolid(now)) out[i] = ink;
    } else if (isPaper(nearer) && isBody(now)) out[i] = nearer;
  });
  return out;
};

/** The places of a set on the canvas, in order. */
const eachPixel = ({ rows, start, ends }: Runs, width: number, take: (place: number, i: number) => void): void => {
  let n = 0;
  for (let y = 0; y < rows; y++)
    for (let i = start[y] as number; i < (start[y + 1] as number); i += 2)
      for (let x = ends[i] as number; x < (ends[i + 1] as number); x++) take(y * width + x, n++);
};

/** Whether a place on the canvas is in a set; neighbours ask about the same place. */
const memberOf = (set: Runs, width: number): ((index: number) => boolean) => {
  let last = -1;
  let answer = false;
  return (index) => {
    if (index !== last) {
      const y = Math.floor(index / width);
      answer = has(set, index - y * width, y);
      last = index;
    }
    return answer;
  };
};

/** Places on the canvas to places in the picture, in place; paper to -1. */
const inPicture = (frame: Frame, paper: Runs, from: Int32Array): Int32Array => {
  const { width, grid } = frame;
  const isPaper = memberOf(paper, width);
  const origin = originOf(frame);
  for (let i = 0; i < from.length; i++) {
    const index = from[i] as number;
    if (index < 0) continue;
    const y = Math.floor(index / width);
    from[i] = isPaper(index) ? -1 : y * grid.width + (index - y * width) + origin;
  }
  return from;
};

/** The ring of a request, remembered when its contour and the sets its pixels decide have been met before; nothing when the
 * piece has no ink. */
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
  const { source, own, strip, printed } = decided;
  const key =
    cache &&
    [
      "ring",
      [grid.width, grid.height, grid.box.x, grid.box.y, frame.stepX, frame.stepY],
      [request.source, request.bleed, request.gap, request.spread],
      digestOf(request.parts),
      digestOf(request.reach),
      hashOf(
        ...[source, own, strip, printed.paper, printed.solid, printed.seen, printed.tinge].flatMap(
          ({ start, ends }) => [start, ends],
        ),
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
  const { source, own, open, strip, printed } = decided;
  const carried = !isEmpty(strip);
  const under = UNDERLAP + (carried ? Math.ceil(gap) + 1 : 0);
  const ringSet = union(union(band, intersect(zone, dilate(band, disc(under * under), width))), strip);
  const bleed = pixels(frame, request.bleed);
  const target = minus(ringSet, source);
  const places = withSources(ringSet, target, sourcesFor(frame, target, decided, bleed + 2), width);
  const from = inPicture(frame, printed.paper, places);
  const inBand = minus(reach, body);
  const ownKept = intersect(intersect(own, source), inBand);
  // Edges drawn on a white ground are half ground: those give way, where transparent ones are laid over the ring.
  const ground = dilate(minus(printed.white, source), block(1), width);
  const besideGround = intersect(union(printed.opaque, printed.white), ground);
  const wide = air === undefined ? undefined : minus(union(dilate(covered, disc(air * air), width), ringSet), source);
  const field = wide &&
    air !== undefined && {
      pixels: wide,
      from: inPicture(frame, printed.paper, sourcesFor(frame, wide, decided, bleed + 2 + air)),
      source: minus(source, printed.paper),
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
    prints: from.some((index) => index >= 0),
    carried,
    least: leastWidth(body, minus(covered, reach), width, bleed + 2),
    rim: rimOf(body, open, printed, strip, width),
    ...(field ? { field } : {}),
  };
};
