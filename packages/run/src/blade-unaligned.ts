import { toMm } from "@kitforme/geometry";
import type { Finding } from "@kitforme/kit";
import type { Sheet } from "@kitforme/sheet";
import { byStock } from "./by-stock.ts";
import { say } from "./words.ts";

/** Sheets whose waste has no room to bring a trailing blade into line: nobody knows where it points when it is first set down. */
export const bladeUnaligned = (sheets: readonly Sheet[]): Finding[] =>
  byStock(sheets).flatMap(([first, all]) => {
    const { stock, of } = first;
    const offset = toMm(stock.cutter.path.bladeOffset);
    const astray = all.filter(({ paths }) => paths.every(({ placed }) => placed !== 0)).map(({ sheet }) => sheet);
    return offset === 0 || astray.length === 0
      ? []
      : [say("blade-unaligned", { stock: stock.stock, sheet: astray[0] as number }, { offset, sheets: astray, of })];
  });
