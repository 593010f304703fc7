import type { Path, Rect, Um } from "@kitforme/geometry";

/** The sheet is looked at in squares of this side. */
const CELL: Um = 500;
/** Edges are followed in steps so short that no square they cross is missed by more than a corner. */
const STEP: Um = 100;

/** What is taken of a sheet, for finding room in what is left. */
export interface FreeRoom {
  /**
   * The free place of a size that lies nearest to an edge of `within`, the lower and left one first, at least `gap` from all that is taken.
   * @param from where to begin: at the lower left, or at the upper right
   */
  readonly find: (
    size: { readonly width: Um; readonly height: Um },
    gap: Um,
    from?: "lower" | "upper",
  ) => Rect | undefined;
  readonly take: (box: Rect) => void;
}

/**
 * Room in the waste of a sheet. Squares that any shape touches count as taken; a second look, by `verifySheet`, is exact.
 * @param within where anything may be printed
 * @param rings closed shapes whose insides are taken, even-odd together
 * @param lines open ways that are taken themselves
 */
export const freeRoom = (within: Rect, rings: readonly Path[], lines: readonly Path[]): FreeRoom => {
  const across = Math.floor(within.width / CELL);
  const down = Math.floor(within.height / CELL);
  const taken = new Uint8Array(across * down);
  const mark = (x: number, y: number): void => {
    const [column, row] = [Math.floor((x - within.x) / CELL), Math.floor((y - within.y) / CELL)];
    if (column >= 0 && row >= 0 && column < across && row < down) taken[row * across + column] = 1;
  };
  const follow = (path: Path, closed: boolean): void =>
    path.forEach((a, i) => {
      const b = path[i + 1] ?? (closed ? path[0] : undefined);
      if (!b) return;
      const steps = Math.max(1, Math.ceil(Math.hypot(b.x - a.x, b.y - a.y) / STEP));
      for (let k = 0; k <= steps; k++) mark(a.x + ((b.x - a.x) * k) / steps, a.y + ((b.y - a.y) * k) / steps);
    });
  for (const ring of rings) follow(ring, true);
  for (const line of lines) follow(line, false);
  const crossings = Array.from({ length: down }, (): number[] => []);
  for (const ring of rings)
    ring.forEach((a, i) => {
      const b = ring[(i + 1) % ring.length] as (typeof ring)[number];
      const [low, high] = [Math.min(a.y, b.y), Math.max(a.y, b.y)].map((y) => (y - within.y) / CELL - 0.5);
      for (let row = Math.max(0, Math.floor(low as number) + 1); row <= Math.min(down - 1, high as number); row++) {
        const y = within.y + (row + 0.5) * CELL;
        crossings[row]?.push((a.x + ((y - a.y) / (b.y - a.y)) * (b.x - a.x) - within.x) / CELL - 0.5);
      }
    });
  crossings.forEach((row, number) => {
    row.sort((a, b) => a - b);
    for (let i = 0; i + 1 < row.length; i += 2) {
      const [left, right] = [row[i] as number, row[i + 1] as number];
      for (let column = Math.max(0, Math.ceil(left)); column <= Math.min(across - 1, right); column++)
        taken[number * across + column] = 1;
    }
  });
  const take = (box: Rect): void => {
    const columns = [Math.floor((box.x - within.x) / CELL), Math.ceil((box.x + box.width - within.x) / CELL)];
    const rows = [Math.floor((box.y - within.y) / CELL), Math.ceil((box.y + box.height - within.y) / CELL)];
    for (let row = Math.max(0, rows[0] as number); row < Math.min(down, rows[1] as number); row++)
      taken.fill(
        1,
        row * across + Math.min(across, Math.max(0, columns[0] as number)),
        row * across + Math.min(across, Math.max(0, columns[1] as number)),
      );
  };
  const find: FreeRoom["find"] = ({ width, height }, gap, from = "lower") => {
    const sums = summed(taken, across, down);
    const free = (x: number, y: number, w: number, h: number): boolean => {
      const [left, right] = [Math.max(0, x), Math.min(across, x + w)];
      const [low, high] = [Math.max(0, y), Math.min(down, y + h)];
      const at = (column: number, row: number): number => sums[row * (across + 1) + column] as number;
      return at(right, high) - at(left, high) - at(right, low) + at(left, low) === 0;
    };
    const [w, h, around] = [Math.ceil(width / CELL), Math.ceil(height / CELL), Math.ceil(gap / CELL)];
    let best: { readonly edge: number; readonly column: number; readonly row: number } | undefined;
    for (let i = 0; i + h <= down; i++)
      for (let j = 0; j + w <= across; j++) {
        const [row, column] = from === "lower" ? [i, j] : [down - h - i, across - w - j];
        const edge = Math.min(row, column, down - h - row, across - w - column);
        if (best && edge >= best.edge) continue;
        if (free(column - around, row - around, w + 2 * around, h + 2 * around)) best = { edge, column, row };
      }
    return best && { x: within.x + best.column * CELL, y: within.y + best.row * CELL, width, height };
  };
  return { find, take };
};

/** How many squares are taken below and left of each corner. */
const summed = (taken: Uint8Array, across: number, down: number): Int32Array => {
  const sums = new Int32Array((across + 1) * (down + 1));
  for (let row = 0; row < down; row++) {
    let line = 0;
    for (let column = 0; column < across; column++) {
      line += taken[row * across + column] as number;
      sums[(row + 1) * (across + 1) + column + 1] = (sums[row * (across + 1) + column + 1] as number) + line;
    }
  }
  return sums;
};
