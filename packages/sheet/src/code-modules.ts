import type { Point } from "@kitforme/geometry";
import { codeContent, codeOutlines } from "./code.ts";
import { CODE_COLUMNS, CODE_ROWS, furnitureOf } from "./furniture.ts";
import type { Sheet } from "./sheet.ts";

/** One module of a sheet's code: its middle on the sheet in micrometres, and whether it is to be dark. */
export interface CodeModule extends Point<"sheet"> {
  readonly dark: boolean;
}

/** The modules that the code of a sheet must show, made anew from job and number; none for unprinted stock. */
export const codeModules = ({
  job,
  sheet,
  stock,
  width,
  height,
}: Pick<Sheet, "job" | "sheet" | "stock" | "width" | "height">): readonly CodeModule[] => {
  if (!stock.press) return [];
  const { code } = furnitureOf(stock, stock.press, { width, height });
  // At one unit a module every bar of the path is a run of dark ones.
  const bars = codeOutlines(codeContent(job, sheet), {
    ...code,
    module: 1,
    box: { x: 0, y: 0, width: 36, height: 12 },
  });
  const dark = new Set<string>();
  for (const [, x0, y0, x1] of bars.matchAll(/M (\d+) (\d+) L (\d+)/g))
    for (let x = Number(x0); x < Number(x1); x++) dark.add(`${x},${y0}`);
  return Array.from({ length: CODE_ROWS * CODE_COLUMNS }, (_, i) => {
    const [x, y] = [i % CODE_COLUMNS, Math.floor(i / CODE_COLUMNS)];
    return {
      x: code.box.x + (x + 0.5) * code.module,
      y: code.box.y + (y + 0.5) * code.module,
      dark: dark.has(`${x},${y}`),
    };
  });
};
