// One-bit pictures, screened or dithered, carry their tones in dots. The nearest pixel would draw every dot of the edge out to
// a streak, so where such a texture meets the contour it goes on mirrored: same dots, same ruling, same tone. Lines and areas of
// one-bit drawings are no texture and go on like all others.
import { has, type Runs } from "./runs.ts";

/** Pixels to either side of a source that are looked at. */
const AROUND = 12;
const SIDE = 2 * AROUND + 1;
/** Pixels for one connected area, dark or blank, sides touching, below which there is texture: dots of 4 % have one in 25, a
 * screen of 60 lines one in 12; frames, stripes, letters at most a handful in all. */
const GRAIN = 32;

const OUTSIDE = 0;
const BLANK = 1;
const DRAWN = 2;

/** Says whether a pixel of the canvas lies in texture. */
const textureOf = (body: Runs, drawn: Runs, width: number): ((place: number) => boolean) => {
  const patch = new Uint8Array(SIDE * SIDE);
  const fill = ({ rows, start, ends }: Runs, x: number, y: number, kind: number): void => {
    for (let dy = Math.max(0, AROUND - y); dy < SIDE && y + dy - AROUND < rows; dy++) {
      const row = y + dy - AROUND;
      for (let i = start[row]; i < start[row + 1]; i += 2) {
        const from = Math.max(0, ends[i] - x + AROUND);
        const to = Math.min(SIDE, ends[i + 1] - x + AROUND);
        if (from < to) patch.fill(kind, dy * SIDE + from, dy * SIDE + to);
      }
    }
  };
  const stack = new Int32Array(SIDE * SIDE);
  /** Takes out the area that a pixel belongs to. */
  const flood = (from: number): void => {
    const kind = patch[from];
    let n = 0;
    const push = (at: number): void => {
      patch[at] = OUTSIDE;
      stack[n++] = at;
    };
    push(from);
    while (n > 0) {
      const at = stack[--n];
      const column = at % SIDE;
      if (column > 0 && patch[at - 1] === kind) push(at - 1);
      if (column < SIDE - 1 && patch[at + 1] === kind) push(at + 1);
      if (at >= SIDE && patch[at - SIDE] === kind) push(at - SIDE);
      if (at < SIDE * (SIDE - 1) && patch[at + SIDE] === kind) push(at + SIDE);
    }
  };
  const known = new Map<number, boolean>();
  return (place) => {
    const met = known.get(place);
    if (met !== undefined) return met;
    const y = Math.floor(place / width);
    const x = place - y * width;
    patch.fill(OUTSIDE);
    fill(body, x, y, BLANK);
    fill(drawn, x, y, DRAWN);
    let pixels = 0;
    for (const kind of patch) if (kind !== OUTSIDE) pixels++;
    let areas = 0;
    for (let at = 0; at < patch.length; at++) {
      if (patch[at] === OUTSIDE) continue;
      areas++;
      flood(at);
    }
    const found = areas * GRAIN >= pixels;
    known.set(place, found);
    return found;
  };
};

/**
 * The source of a pixel that is made, where that lies in texture: the pixel as far inside as the made one lies outside.
 * @param zone of the body along the contour, as deep as texture is looked at
 * @param inside the body's pixels that the picture has
 * @param drawn of zone
 * @returns places on the canvas; the source itself where there is no texture, or the region is too thin
 */
export const mirroring = (
  zone: Runs,
  inside: Runs,
  drawn: Runs,
  width: number,
): ((place: number, source: number) => number) => {
  const inTexture = textureOf(zone, drawn, width);
  return (place, source) => {
    if (source < 0 || place === source || !inTexture(source)) return source;
    const [y, sy] = [Math.floor(place / width), Math.floor(source / width)];
    const [mx, my] = [2 * (source - sy * width) - (place - y * width), 2 * sy - y];
    return has(inside, mx, my) ? my * width + mx : source;
  };
};
