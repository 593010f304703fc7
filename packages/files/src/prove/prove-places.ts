import { apply, fromPoints, type Matrix, multiply, ringsOf } from "@kitforme/geometry";
import type { Sheet } from "@kitforme/sheet";
import { onPage, sideOf } from "./expected.ts";
import type { ProofFault } from "./fault.ts";
import type { Painted } from "./painted.ts";

/** How far a matrix of the file may put a point from its place, micrometres: it is written to the hundred-millionth and to 0.04 micrometres. */
const OFF = 10;

/**
 * The matrices by which a page's file draws its artwork, against the pieces' places: what is a shift, a turn or a scale too
 * small for the picture to show stands there as a number.
 */
export const provePlaces = (sheet: Sheet, side: "front" | "back", { items }: Painted): ProofFault[] => {
  const drawn = items.flatMap(({ placed }) => (placed ? [placed] : []));
  const wanted = sheet.placed.flatMap((placed) => {
    const face = side === "back" ? placed.prepared.back : placed.prepared;
    if (!face) return [];
    const matrix = onPage(sheet, placed, side);
    const mirror = "mirror" in face ? face.mirror : undefined;
    const own = mirror === undefined ? matrix : multiply(matrix, [-1, 0, 0, 1, mirror, 0]);
    // Buyers' pictures lie in frames of their own.
    const pictures = sideOf(placed.pictures, side).map(() => undefined);
    return [...(face.layers.length > 0 ? [{ placed, matrix: own, mirror }] : []), ...pictures];
  });
  // Something more or less than the pieces: the picture shows what and where.
  if (drawn.length !== wanted.length) return [];
  return wanted.flatMap((one, i): ProofFault[] => {
    if (!one) return [];
    const [a, b, c, d, e, f] = drawn[i] as Matrix;
    const file: Matrix = [a, b, c, d, fromPoints(e), fromPoints(f)];
    let worst = { by: 0, x: 0, y: 0 };
    for (const { x: u, y } of ringsOf(one.placed.prepared.reach).flat()) {
      const x = one.mirror === undefined ? u : one.mirror - u;
      const [there, here] = [apply(one.matrix, x, y), apply(file, x, y)];
      const by = Math.hypot(there[0] - here[0], there[1] - here[1]);
      if (by > worst.by) worst = { by, x: there[0], y: there[1] };
    }
    if (worst.by <= OFF) return [];
    const { kit, piece } = one.placed.prepared.piece;
    const what = `the file draws place ${one.placed.number} (${kit}, ${piece}) up to ${(worst.by / 1000).toFixed(2)} mm off: moved, turned or scaled`;
    return [{ check: "print", what, at: { x: worst.x, y: worst.y } }];
  });
};
