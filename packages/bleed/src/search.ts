// Nearest sources of the pixels that are made, and what decides between colour, drawn bleed and blank where they meet at
// the contour.
import { type Frame, originOf } from "./frame.ts";
import { nearest } from "./nearest-map.ts";
import { has, intersect, isEmpty, minus, type Runs, union } from "./runs.ts";
import type { Decided } from "./sets.ts";

/** Sources of pixels that are made, as places on the canvas; -1: blank. A tinge that no eye sees is not carried out. */
export const sourcesFor = (frame: Frame, target: Runs, decided: Decided, reach: number): Int32Array => {
  const isTinge = memberOf(decided.shown.tinge, frame.width);
  return search(frame, target, decided, reach).map((index) => (index >= 0 && isTinge(index) ? -1 : index));
};

/** Nearest sources, as places on the canvas. Drawn bleed is carried farther out, never sideways: only where what the region
 * itself has nearest shows. */
const search = (frame: Frame, target: Runs, decided: Decided, reach: number): Int32Array => {
  const { width } = frame;
  const { source, own, shown } = decided;
  const request = { target, width, reach, stride: width, offset: 0 };
  const { from } = nearest({ ...request, source });
  const drawn = intersect(source, own);
  const body = minus(source, drawn);
  if (isEmpty(drawn) || isEmpty(body)) return asAtTheCut(frame, target, decided, from, reach);
  const ofBody = asAtTheCut(frame, target, decided, nearest({ ...request, source: body }).from, reach);
  const isBlank = memberOf(union(shown.blank, shown.tinge), width);
  const isDrawn = memberOf(drawn, width);
  return ofBody.map((index, i) => (index < 0 || isBlank(index) || !isDrawn(from[i]) ? index : from[i]));
};

/**
 * What lies nearest at the contour decides between colour and blank. Sources stand back from it, by the strip here and by fringe
 * there: the side that stands back less would gain on the other, the more the farther out (7 pixels at 24 for one).
 * The strip takes the nearest colour and gives it on.
 */
const asAtTheCut = (
  { width }: Frame,
  target: Runs,
  { zone, edge, source, strip, shown }: Decided,
  from: Int32Array,
  reach: number,
): Int32Array => {
  if (isEmpty(strip) && isEmpty(intersect(shown.blank, edge))) return from;
  const search = { width, reach, stride: width, offset: 0 };
  const filled = nearest({ ...search, source: intersect(source, shown.seen), target: strip });
  const carried = new Map<number, number>();
  eachPixel(strip, width, (place, i) => carried.set(place, filled.from[i]));
  const next = nearest({ ...search, source: zone, target: minus(target, zone) }).from;
  const out = from.slice();
  let taken = 0;
  const isInside = memberOf(zone, width);
  const isSolid = memberOf(shown.solid, width);
  const isBlank = memberOf(minus(shown.blank, strip), width);
  // Spikes thinner than a pixel give colour from beyond the contour.
  const isBody = memberOf(zone, width);
  eachPixel(target, width, (place, i) => {
    const nearer = isInside(place) ? place : next[taken++];
    const now = from[i];
    const colour = carried.get(nearer);
    if (colour !== undefined) {
      if (!isSolid(now)) out[i] = colour;
    } else if (isBlank(nearer) && isBody(now)) out[i] = nearer;
  });
  return out;
};

/** The places of a set on the canvas, in order. */
export const eachPixel = (
  { rows, start, ends }: Runs,
  width: number,
  take: (place: number, i: number) => void,
): void => {
  let n = 0;
  for (let y = 0; y < rows; y++)
    for (let i = start[y]; i < start[y + 1]; i += 2)
      for (let x = ends[i]; x < ends[i + 1]; x++) take(y * width + x, n++);
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

/** Places on the canvas to places in the picture, in place; blank to -1. */
export const inPicture = (frame: Frame, blank: Runs, from: Int32Array): Int32Array => {
  const { width, grid } = frame;
  const isBlank = memberOf(blank, width);
  const origin = originOf(frame);
  for (let i = 0; i < from.length; i++) {
    const index = from[i];
    if (index < 0) continue;
    const y = Math.floor(index / width);
    from[i] = isBlank(index) ? -1 : y * grid.width + (index - y * width) + origin;
  }
  return from;
};
