import { apply, inverse, multiply, ringsOf } from "@kitforme/geometry";
import type { Press } from "@kitforme/kit";
import type { Sheet } from "@kitforme/sheet";
import { onPage, roomsOfWords } from "./expected.ts";
import type { ProofFault } from "./fault.ts";
import { fillRings } from "./fill-rings.ts";
import { findShift } from "./find-shift.ts";
import type { Shifts } from "./measured.ts";
import { withinAny } from "./rects.ts";
import { type References, referenceOf } from "./reference.ts";
import { pixelsOf, type Seen } from "./seen.ts";

/** How far a print may be found from its place, micrometres: good ones are found within 0.09 mm, and 0.3 mm is to be seen. */
const OFF = 180;
/** No other print may be so near to a pixel by which a place is told, in pixels. */
const CLEAR = 3;

/** How far the print of every piece of a page lies from its place, whatever words stand on it. */
export const measureShifts = async (
  sheet: Sheet,
  press: Press,
  side: "front" | "back",
  seen: Seen,
  references: Pick<References, "of">,
): Promise<Shifts> => {
  const faults: ProofFault[] = [];
  let [worst, unmeasured] = [0, 0];
  const owners = ownersOf(sheet, side, seen);
  const below = CLEAR * seen.width;
  for (const [i, placed] of sheet.placed.entries()) {
    const face = side === "back" ? placed.prepared.back : placed.prepared;
    if (!face) continue;
    const reference = await referenceOf(placed, press, side, references);
    const words = roomsOfWords(placed, side);
    const matrix = onPage(sheet, placed, side);
    const toDrawing = inverse(multiply(pixelsOf(seen), matrix));
    const alone = (at: number): boolean => owners[at] === 0 || owners[at] === i + 1;
    const shift = findShift(seen, reference, matrix, (column, row) => {
      const at = row * seen.width + column;
      if (!(alone(at) && alone(at + CLEAR) && alone(at - CLEAR) && alone(at + below) && alone(at - below)))
        return false;
      if (words.length === 0) return true;
      const [x, y] = apply(toDrawing, column + 0.5, row + 0.5);
      return !withinAny(words, x, y);
    });
    if (shift) worst = Math.max(worst, shift.by);
    else unmeasured++;
    if (!shift || shift.by <= OFF) continue;
    const { kit, piece } = placed.prepared.piece;
    const [x, y] = apply(matrix, shift.at.x, shift.at.y);
    const far = (shift.by / 1000).toFixed(2);
    const what = `the print of place ${placed.number} (${kit}, ${piece}) lies ${far} mm off, or is turned or scaled by as much`;
    faults.push({ check: "print", what, at: { x, y } });
  }
  return { faults, worst, unmeasured };
};

/** Whose print each pixel of a page is: the placement's number in their order, from 1; 0 for nobody's. */
const ownersOf = (sheet: Sheet, side: "front" | "back", seen: Seen): Uint16Array => {
  const { width, height } = seen;
  const owners = new Uint16Array(width * height);
  for (const [i, placed] of sheet.placed.entries()) {
    if (side === "back" && !placed.prepared.back) continue;
    const matrix = multiply(pixelsOf(seen), onPage(sheet, placed, side));
    const rings = ringsOf(placed.prepared.reach).map((ring) => ring.map((p) => apply(matrix, p.x, p.y)));
    fillRings(rings, { width, height, rule: "evenodd" }, (row, from, to) => {
      owners.fill(i + 1, row * width + from, row * width + to);
    });
  }
  return owners;
};
