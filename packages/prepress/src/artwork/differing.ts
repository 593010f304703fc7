// Where two renderings of one drawing differ to the eye. Edges are smoothed by each renderer in its own way, and may lie half a
// pixel apart: a pixel differs only when its colour lies outside what the other has in the nine pixels there.

/** Levels of a channel by which a colour may lie outside. */
const TOLERANCE = 32;

export interface Differing {
  /** 1 where the two differ. */
  readonly mask: Uint8Array;
  readonly count: number;
}

/**
 * @param a, b RGB of `width` x `height` pixels, 3 bytes each
 * @param tolerance levels of a channel by which a colour may lie outside
 */
export const differing = (
  a: Uint8Array,
  b: Uint8Array,
  width: number,
  height: number,
  tolerance = TOLERANCE,
): Differing => {
  const mask = new Uint8Array(width * height);
  let count = 0;
  const outside = (one: Uint8Array, other: Uint8Array, x: number, y: number): boolean => {
    const at = 3 * (y * width + x);
    for (let channel = 0; channel < 3; channel++) {
      const value = one[at + channel] as number;
      if (Math.abs(value - (other[at + channel] as number)) <= tolerance) continue;
      let [least, most] = [255, 0];
      for (let row = Math.max(0, y - 1); row <= Math.min(height - 1, y + 1); row++)
        for (let column = Math.max(0, x - 1); column <= Math.min(width - 1, x + 1); column++) {
          const near = other[3 * (row * width + column) + channel] as number;
          if (near < least) least = near;
          if (near > most) most = near;
        }
      if (value < least - tolerance || value > most + tolerance) return true;
    }
    return false;
  };
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++)
      if (outside(a, b, x, y) || outside(b, a, x, y)) {
        mask[y * width + x] = 1;
        count++;
      }
  return { mask, count };
};

/** A patch of pixels that hang together, corners included. */
export interface Patch {
  readonly area: number;
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}

/** The patches of a mask, the largest first; of equal ones the upper left first. */
export const patchesIn = (mask: Uint8Array, width: number): Patch[] => {
  const height = mask.length / width;
  const left = mask.slice();
  const patches: Patch[] = [];
  for (let start = left.indexOf(1); start >= 0; start = left.indexOf(1, start + 1)) {
    const patch = { area: 0, left: width, top: height, right: 0, bottom: 0 };
    const stack = [start];
    left[start] = 0;
    for (let at = stack.pop(); at !== undefined; at = stack.pop()) {
      const [x, y] = [at % width, Math.floor(at / width)];
      patch.area++;
      patch.left = Math.min(patch.left, x);
      patch.right = Math.max(patch.right, x + 1);
      patch.top = Math.min(patch.top, y);
      patch.bottom = Math.max(patch.bottom, y + 1);
      for (let row = Math.max(0, y - 1); row <= Math.min(height - 1, y + 1); row++)
        for (let column = Math.max(0, x - 1); column <= Math.min(width - 1, x + 1); column++) {
          const near = row * width + column;
          if (left[near] !== 1) continue;
          left[near] = 0;
          stack.push(near);
        }
    }
    patches.push(patch);
  }
  return patches.sort((a, b) => b.area - a.area || a.top - b.top || a.left - b.left);
};

/** The mask without what is thinner than two pixels: an edge that lies half a pixel aside, a hair smoothed in another way. */
export const thickOf = (mask: Uint8Array, width: number): Uint8Array => {
  const thick = new Uint8Array(mask.length);
  for (let at = 0; at + width + 1 < mask.length; at++) {
    const square = [at, at + 1, at + width, at + width + 1];
    if (at % width < width - 1 && square.every((one) => mask[one] === 1)) for (const one of square) thick[one] = 1;
  }
  return thick;
};
