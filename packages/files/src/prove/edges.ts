/** Edges are looked at so far to both sides, in pixels: what a shift of half a millimetre moves at 150 pixels an inch. */
export const BAND = 3;
/** Sums of three channels: contrasts below this are paper's own, and no picture is drawn more exactly. */
export const NOISE = 12;
/** How far around a pixel of the edge the picture must be even, in pixels; and how even, of 765. */
const AROUND = 4;
const EVEN = 90;

interface Picture {
  readonly width: number;
  readonly height: number;
  /** RGB. */
  readonly colour: Uint8Array;
  /** 1 where the piece may print. */
  readonly reach: Uint8Array;
}

/** Pixels of a reference that tell where it lies. */
export interface Edge {
  /** Offsets in the rows of the reference. */
  readonly at: Int32Array;
  /** Sum of the three channels there, and its change to the right and down, of one pixel. */
  readonly value: Float32Array;
  readonly right: Float32Array;
  readonly down: Float32Array;
}

/**
 * `rim`: the pixels around the edge of what prints. `calm`: those of them by which the picture is even, so that it does not
 * matter where it is drawn. `inner`: those within the edge that differ from their neighbours.
 */
export type EdgeKind = "rim" | "calm" | "inner";

/** Pixels that tell where a picture lies. */
export const edgesOf = ({ width, height, colour, reach }: Picture, kind: EdgeKind): Edge => {
  const near = new Uint8Array(width * height);
  for (let row = BAND; row < height - BAND; row++)
    for (let column = BAND; column < width - BAND; column++) {
      const at = row * width + column;
      if (reach[at] === reach[at + 1] && reach[at] === reach[at + width]) continue;
      for (let y = -BAND + 1; y <= BAND; y++) near.fill(1, at + y * width - BAND + 1, at + y * width + BAND + 1);
    }
  const sum = (at: number): number =>
    (colour[3 * at] as number) + (colour[3 * at + 1] as number) + (colour[3 * at + 2] as number);
  const within = (at: number): boolean => [0, 1, -1, width, -width].every((by) => reach[at + by] === 1);
  const even = (at: number): boolean => {
    let [least, most] = [Infinity, -Infinity];
    for (let y = -AROUND; y <= AROUND; y++)
      for (let x = -AROUND; x <= AROUND; x++) {
        const there = at + y * width + x;
        if (!within(there)) continue;
        const value = sum(there);
        if (value < least) least = value;
        if (value > most) most = value;
      }
    return most - least <= EVEN;
  };
  const wanted = (at: number, right: number, down: number): boolean => {
    if (kind === "inner") return near[at] === 0 && reach[at] === 1 && right * right + down * down > NOISE * NOISE;
    return near[at] === 1 && (kind === "rim" || even(at));
  };
  const found = { at: [] as number[], right: [] as number[], down: [] as number[] };
  for (let row = 1; row < height - 1; row++)
    for (let column = 1; column < width - 1; column++) {
      const at = row * width + column;
      if (near[at] === 0 && kind !== "inner") continue;
      const [right, down] = [(sum(at + 1) - sum(at - 1)) / 2, (sum(at + width) - sum(at - width)) / 2];
      if (!wanted(at, right, down)) continue;
      found.at.push(at);
      found.right.push(right);
      found.down.push(down);
    }
  return {
    at: Int32Array.from(found.at),
    value: Float32Array.from(found.at, sum),
    right: Float32Array.from(found.right),
    down: Float32Array.from(found.down),
  };
};
