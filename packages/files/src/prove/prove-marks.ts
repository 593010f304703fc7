import type { Rect } from "@kitforme/geometry";
import type { Mark, Sheet } from "@kitforme/sheet";
import type { ProofFault } from "./fault.ts";
import { darkness, pointOf, type Seen } from "./seen.ts";

/** How far a mark's middle may be found from where the cut files have it, micrometres: ten times what the sight is off by. */
const OFF = 50;
/** How much the inked area may differ from the shape's own: a mark 2 % smaller or larger passes, another shape does not. */
const AREA = 0.06;

/** The part of a page that a mark is looked for in: itself and the blank paper around it. */
export const markWindow = ({ at, size }: Mark, clear: number): Rect => {
  const half = size / 2 + Math.max(300, clear - 200);
  return { x: at.x - half, y: at.y - half, width: 2 * half, height: 2 * half };
};

const areaOf = ({ shape, size }: Mark): number =>
  shape === "disc" ? (Math.PI * size * size) / 4 : shape === "square" ? size * size : size * size * 0.36;

/**
 * Marks as a camera finds them: by the ink in the blank paper around their places, its middle, its area and, for squares and
 * discs, how far it reaches into the corners.
 * @returns the largest distance between a mark and its place, micrometres
 */
export const proveMarks = (
  marks: Sheet["marks"],
  seen: readonly (Seen | undefined)[],
): { readonly worst: number; readonly faults: ProofFault[] } => {
  const faults: ProofFault[] = [];
  let worst = 0;
  marks.forEach((mark, i) => {
    const part = seen[i];
    const found = part && blot(part);
    const tell = (what: string): void =>
      void faults.push({ check: "mark", what: `mark ${i + 1} ${what}`, at: mark.at });
    if (!found) return tell("is not found in the print");
    const off = Math.hypot(found.x - mark.at.x, found.y - mark.at.y);
    worst = Math.max(worst, off);
    if (off > OFF) return tell(`lies ${(off / 1000).toFixed(2)} mm from its place in the cut files`);
    const expected = areaOf(mark);
    if (Math.abs(found.area / expected - 1) > AREA)
      return tell(`has ${((found.area / expected) * 100).toFixed(0)} % of the area of a ${mark.shape}`);
    // Mean square of the distance from the middle: r²/2 of a disc, s²/6 of a square; a disc and a square of one area differ by 5 %.
    const spread = mark.shape === "disc" ? mark.size ** 2 / 8 : mark.shape === "square" ? mark.size ** 2 / 6 : null;
    if (spread !== null && Math.abs(found.spread / spread - 1) > AREA) return tell(`is not a ${mark.shape}`);
  });
  return { worst, faults };
};

/** Ink of a part as one shape: middle and area, micrometres; undefined without ink. */
const blot = (part: Seen) => {
  const { data, width, height, scale } = part;
  let darkest = 0;
  for (let at = 0; at < data.length; at += 4) darkest = Math.max(darkest, darkness(data, at));
  if (darkest < 0.5) return undefined;
  let [sum, x, y, squares] = [0, 0, 0, 0];
  for (let row = 0; row < height; row++)
    for (let column = 0; column < width; column++) {
      const share = darkness(data, (row * width + column) * 4) / darkest;
      if (share < 0.02) continue;
      const p = pointOf(part, column, row);
      sum += share;
      x += share * p.x;
      y += share * p.y;
      squares += share * (p.x * p.x + p.y * p.y);
    }
  const [mx, my] = [x / sum, y / sum];
  return { x: mx, y: my, area: sum / (scale[0] * scale[1]), spread: squares / sum - mx * mx - my * my };
};
