import { inkOfSheet } from "@kitforme/files";
import type { Finding } from "@kitforme/kit";
import { INK_GRACE, inkLimitOf } from "@kitforme/prepress";
import type { Sheet } from "@kitforme/sheet";
import { say } from "./words.ts";

/** Sheets on which letters over artwork make more ink than the press takes: each was within the limit by itself. */
export const sheetInks = (sheets: readonly Sheet[]): Finding[] => {
  const worst = new Map<string, { readonly ink: number; readonly limit: number; readonly sheet: number }>();
  for (const sheet of sheets) {
    const { press, stock } = sheet.stock;
    if (!press) continue;
    const limit = inkLimitOf(press);
    const sides = (["front", "back"] as const).flatMap((side) => inkOfSheet(sheet, side)?.max ?? []);
    const ink = Math.max(0, ...sides);
    if (ink > limit + INK_GRACE && ink > (worst.get(stock)?.ink ?? 0))
      worst.set(stock, { ink, limit, sheet: sheet.sheet });
  }
  return [...worst].map(([stock, facts]) => say("sheet-ink", { stock }, facts));
};
