import type { Sheet } from "@kitforme/sheet";

/** Sheets by their stock, in the sequence in which stocks first come; beside them the first of each. */
export const byStock = (sheets: readonly Sheet[]): (readonly [first: Sheet, all: readonly Sheet[]])[] => {
  const met = new Map<string, [Sheet, ...Sheet[]]>();
  for (const sheet of sheets) {
    const known = met.get(sheet.stock.stock);
    if (known) known.push(sheet);
    else met.set(sheet.stock.stock, [sheet]);
  }
  return [...met.values()].map((all) => [all[0], all]);
};
