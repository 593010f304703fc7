import { createRequire } from "node:module";
import type Library from "bwip-js";
import type { Furniture } from "./furniture.ts";
import { CODE_COLUMNS, CODE_ROWS } from "./furniture.ts";

const require = createRequire(import.meta.url);
/** Loaded with the first code: an estimate draws none. (What `import` gives as `raw` is a symbology of that name.) */
const barcodes = (): typeof Library => require("bwip-js") as typeof Library;

/** What the sheet's code says: the job, and the number of the sheet as in its file names. */
export const codeContent = (job: string, sheet: number): string => `${job}-${String(sheet).padStart(3, "0")}`;

const number = (um: number): string => String(Math.round(um * 10) / 10);

/**
 * A Data Matrix (ISO/IEC 16022, 12 x 36 modules) as one path of the sheet, y up, to be filled nonzero. Printable ASCII of at
 * most 22 codewords: 22 letters, or 44 digits.
 */
export const codeOutlines = (content: string, { box, module }: Furniture["code"]): string => {
  if (!/^[\x20-\x7e]+$/.test(content)) throw new Error(`a sheet's code takes printable ASCII only: ${content}`);
  const [symbol] = barcodes().raw("datamatrix", content, `format=rectangle version=${CODE_ROWS}x${CODE_COLUMNS}`);
  if (!symbol || !("pixs" in symbol) || symbol.pixx !== CODE_COLUMNS || symbol.pixs.length !== CODE_ROWS * CODE_COLUMNS)
    throw new Error(`the code of ${content} has not ${CODE_ROWS} x ${CODE_COLUMNS} modules`);
  const isDark = (row: number, column: number): boolean => symbol.pixs[row * CODE_COLUMNS + column] === 1;
  const bars: string[] = [];
  for (let row = 0; row < CODE_ROWS; row++) {
    // Modules of the code count from the top, the sheet from below.
    const [y0, y1] = [CODE_ROWS - row - 1, CODE_ROWS - row].map((n) => number(box.y + n * module));
    for (let from = 0; from < CODE_COLUMNS; from++) {
      if (!isDark(row, from)) continue;
      let to = from;
      while (to < CODE_COLUMNS && isDark(row, to)) to++;
      const [x0, x1] = [from, to].map((n) => number(box.x + n * module));
      bars.push(`M ${x0} ${y0} L ${x1} ${y0} L ${x1} ${y1} L ${x0} ${y1} Z`);
      from = to;
    }
  }
  return bars.join(" ");
};
