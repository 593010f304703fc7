/** Edges are looked at so far to both sides, in pixels: what a shift of half a millimetre moves at 150 pixels an inch. */
export const BAND = 3;
/** Sums of three channels: contrasts below this are paper's own, and no picture is drawn more exactly. */
export const NOISE = 12;

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

/** The pixels around the edge of what prints, and those within it that differ from their neighbours. */
export const edgesOf = ({ width, height, colour, reach }: Picture): { readonly rim: Edge; readonly inner: Edge } => {
  const near = new Uint8Array(width * height);
  for (let row = BAND; row < height - BAND; row++)
    for (let column = BAND; column < width - BAND; column++) {
      const at = row * width + column;
      if (reach[at] === reach[at + 1] && reach[at] === reach[at + width]) continue;
      for (let y = -BAND + 1; y <= BAND; y++) near.fill(1, at + y * width - BAND + 1, at + y * width + BAND + 1);
    }
  const sum = (at: number): number =>
    (colour[3 * at] as number) + (colour[3 * at + 1] as number) + (colour[3 * at + 2] as number);
  const gather = (wanted: (at: number, right: number, down: number) => boolean): Edge => {
    const [all, right, down]: number[][] = [[], [], []] as unknown as number[][];
    for (let row = 1; row < height - 1; row++)
      for (let column = 1; column < width - 1; column++) {
        const at = row * width + column;
        if (near[at] === 0 && reach[at] === 0) continue;
        const [x, y] = [(sum(at + 1) - sum(at - 1)) / 2, (sum(at + width) - sum(at - width)) / 2];
        if (!wanted(at, x, y)) continue;
        all?.push(at);
        right?.push(x);
        down?.push(y);
      }
    return {
      at: Int32Array.from(all ?? []),
      value: Float32Array.from(all ?? [], sum),
      right: Float32Array.from(right ?? []),
      down: Float32Array.from(down ?? []),
    };
  };
  return {
    rim: gather((at) => near[at] === 1),
    inner: gather((at, x, y) => near[at] === 0 && x * x + y * y > NOISE * NOISE),
  };
};
