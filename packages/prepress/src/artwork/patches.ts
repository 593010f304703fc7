/** A box of cells; right and bottom are beyond it. */
export interface Patch {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}

/** Cells that are wanted, row by row from the top. */
export interface Cells {
  readonly columns: number;
  readonly wanted: Uint8Array;
}

export interface PatchCost {
  /** What one more patch costs, in cells. */
  readonly patch: number;
  /** Cells that a patch may hold; one cell always may. */
  readonly most: number;
}

/**
 * Boxes that together hold every wanted cell once, for a drawing that is made box by box: as few and as small as pays. The
 * box around all is cut in two wherever what both halves leave out is worth another patch, and so are the halves.
 *
 * ```
 *   # # # # #      one box of 25 cells,      # # # # #
 *   # . . . #      or four of 5 + 3 + 3 + 5  a       b
 *   # . . . #                                a       b
 *   # . . . #                                a       b
 *   # # # # #                                # # # # #
 * ```
 */
export const patchesOf = (cells: Cells, cost: PatchCost): Patch[] => {
  const rows = cells.wanted.length / cells.columns;
  const whole = around(cells, { left: 0, top: 0, right: cells.columns, bottom: rows });
  return whole ? divided(cells, whole, cost) : [];
};

const divided = (cells: Cells, box: Patch, cost: PatchCost): Patch[] => {
  const { left, top } = box;
  const across = bestCut(linesOf(cells, box, "columns"));
  const down = bestCut(linesOf(cells, box, "rows"));
  const least = Math.min(across.size, down.size);
  const pays = sizeOf(box) > cost.most ? least < Infinity : least < sizeOf(box) - cost.patch;
  if (!pays) return [box];
  const halves =
    across.size <= down.size
      ? [
          { ...box, right: left + across.at },
          { ...box, left: left + across.at },
        ]
      : [
          { ...box, bottom: top + down.at },
          { ...box, top: top + down.at },
        ];
  return halves.flatMap((half) => {
    const smaller = around(cells, half);
    return smaller ? divided(cells, smaller, cost) : [];
  });
};

const sizeOf = ({ left, top, right, bottom }: Patch): number => (right - left) * (bottom - top);

/** From the first wanted cell of a line to beyond its last; `to` is 0 in an empty line. */
interface Span {
  readonly from: number;
  readonly to: number;
}

/** The lines of a box that is no larger than what it holds. */
const linesOf = ({ columns, wanted }: Cells, box: Patch, kind: "rows" | "columns"): Span[] => {
  const [width, height] = [box.right - box.left, box.bottom - box.top];
  const [lines, length] = kind === "rows" ? [height, width] : [width, height];
  return Array.from({ length: lines }, (_, line) => {
    let [from, to] = [length, 0];
    for (let i = 0; i < length; i++) {
      const [x, y] = kind === "rows" ? [i, line] : [line, i];
      if (wanted[(box.top + y) * columns + box.left + x] === 0) continue;
      from = Math.min(from, i);
      to = i + 1;
    }
    return { from, to };
  });
};

/** The cut before line `at` whose halves are least together; of equals the most even, so that large boxes end soonest. */
const bestCut = (lines: readonly Span[]): { readonly at: number; readonly size: number } => {
  const before = sizesAlong(lines);
  const after = sizesAlong(lines.toReversed()).toReversed();
  let best = { at: 0, size: Infinity };
  for (let at = 1; at < lines.length; at++) {
    const size = (before[at - 1] as number) + (after[at] as number);
    const evener = Math.abs(2 * at - lines.length) < Math.abs(2 * best.at - lines.length);
    if (size < best.size || (size === best.size && evener)) best = { at, size };
  }
  return best;
};

/** Size of the box around the first line, the first two, and so on. */
const sizesAlong = (lines: readonly Span[]): number[] => {
  let [first, from, to] = [-1, Infinity, 0];
  let size = 0;
  return lines.map((line, i) => {
    if (line.to === 0) return size;
    if (first < 0) first = i;
    from = Math.min(from, line.from);
    to = Math.max(to, line.to);
    size = (i + 1 - first) * (to - from);
    return size;
  });
};

/** The least box around what is wanted in a box. */
const around = ({ columns, wanted }: Cells, box: Patch): Patch | undefined => {
  let [left, top, right, bottom] = [box.right, box.bottom, box.left, box.top];
  for (let y = box.top; y < box.bottom; y++)
    for (let x = box.left; x < box.right; x++) {
      if (wanted[y * columns + x] === 0) continue;
      left = Math.min(left, x);
      right = Math.max(right, x + 1);
      top = Math.min(top, y);
      bottom = y + 1;
    }
  return right > left ? { left, top, right, bottom } : undefined;
};
