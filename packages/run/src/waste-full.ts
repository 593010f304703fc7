import { toMm } from "@kitforme/geometry";
import type { Finding } from "@kitforme/kit";
import type { Sheet } from "@kitforme/sheet";
import { say } from "./words.ts";

/** Sheets whose waste has no room for what their press is to print there: the layout goes first, and it is said. */
export const wasteFull = (sheets: readonly Sheet[]): Finding[] => {
  const met = new Map<string, { readonly sheet: Sheet; readonly numbers: number[] }>();
  for (const sheet of sheets)
    for (const { item } of sheet.waste?.left ?? []) {
      const key = JSON.stringify([sheet.stock.stock, item]);
      const known = met.get(key) ?? { sheet, numbers: [] };
      met.set(key, known);
      known.numbers.push(sheet.sheet);
    }
  return [...met].map(([key, { sheet, numbers }]) => {
    const [stock, item] = JSON.parse(key) as [string, NonNullable<Sheet["waste"]>["left"][number]["item"]];
    const least = sheet.waste?.left.find((one) => one.item === item);
    const size = [toMm(least?.width ?? 0), toMm(least?.height ?? 0)] as const;
    return say("waste-full", { stock, sheet: sheet.sheet }, { item, size, sheets: numbers, of: sheet.of });
  });
};
