import { apply, type Matrix, type Point } from "@kitforme/geometry";
import type { Press } from "@kitforme/kit";
import type { Ink } from "@kitforme/prepress";
import { fillRings } from "./fill-rings.ts";
import type { References } from "./reference.ts";
import type { Seen } from "./seen.ts";

/** Share of the way from what lies under a text to its ink that its pixels must have gone; thin strokes cover half of theirs. */
export const SHARE = 0.4;
/** A text whose ink is nearer to what lies under it cannot be seen, nor proven; the sum of squares of levels. */
const CONTRAST = 48 ** 2;
type Colour = readonly [number, number, number];

/** Mean share of an ink over the pixels of a shape; 1 where nothing can be told. */
export const inked = async (
  seen: Seen,
  rings: readonly (readonly Point[])[],
  matrix: Matrix,
  ink: Ink,
  press: Press,
  references: Pick<References, "of" | "colourOf">,
  under: (column: number, row: number) => Colour,
): Promise<number> => {
  const colour = await references.colourOf(ink, press);
  let [sum, count] = [0, 0];
  const pixels = rings.map((ring) => ring.map((p) => apply(matrix, p.x, p.y)));
  fillRings(pixels, { width: seen.width, height: seen.height, rule: "nonzero" }, (row, from, to) => {
    for (let column = from; column < to; column++) {
      const ground = under(column, row);
      const at = (row * seen.width + column) * 4;
      let [way, whole] = [0, 0];
      for (let k = 0; k < 3; k++) {
        const range = (colour[k] as number) - (ground[k] as number);
        way += range * ((seen.data[at + k] as number) - (ground[k] as number));
        whole += range * range;
      }
      if (whole < CONTRAST) continue;
      sum += way / whole;
      count++;
    }
  });
  return count < 6 ? 1 : sum / count;
};
