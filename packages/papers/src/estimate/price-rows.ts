import type { Prices } from "@kitforme/kit";
import type { Sheet } from "@kitforme/sheet";
import { loadsOf } from "./loads-of.ts";
import { shareOut } from "./share-out.ts";

/** One row of the price: what, how many, at how much each. Amounts in whole cents, which are the smallest units of the shop's currency (`unitsOf`). */
export interface Row {
  readonly what: "sheets" | "sides" | "minutes" | "layouts" | "orders";
  /** Of sheets: of which stock. */
  readonly stock?: string;
  readonly count: number;
  readonly each: number;
  readonly cents: number;
  /** Cents of every order, in the order of the job's orders; together they are the row's. */
  readonly shares: readonly number[];
}

/**
 * The smallest units that one of a currency has, by ISO 4217 as ECMA-402 has it: 100 of most, 1 of JPY, 1000 of KWD. A code of three
 * letters that names no currency has 100.
 */
export const unitsOf = (currency: string): number =>
  10 ** (new Intl.NumberFormat("en", { style: "currency", currency }).resolvedOptions().maximumFractionDigits ?? 2);

/**
 * The price in rows, each shared out to the orders: paper, printing and layouts by the area that an order takes, minutes by
 * the way the tool goes for it, the price of an order to each alike. Whatever the shop left out of its prices has no row.
 */
export const priceRows = (sheets: readonly Sheet[], orders: readonly string[], prices: Prices): Row[] => {
  const loads = sheets.map(loadsOf);
  const weights = (use: (load: { area: number; way: number }) => number, of: readonly number[]): number[] =>
    orders.map((order) =>
      of.reduce((sum, i) => {
        const load = loads[i]?.get(order);
        return sum + (load ? use(load) : 0);
      }, 0),
    );
  const all = sheets.map((_, i) => i);
  const rows: Row[] = [];
  const units = unitsOf(prices.currency);
  const add = (row: Omit<Row, "cents" | "shares">, by: readonly number[]): void => {
    const amount = Math.round(row.count * row.each * units);
    rows.push({ ...row, cents: amount, shares: shareOut(amount, by) });
  };
  for (const [stock, each] of Object.entries(prices.sheet)) {
    const own = all.filter((i) => sheets[i]?.stock.stock === stock);
    if (own.length === 0) continue;
    add(
      { what: "sheets", stock, count: own.reduce((n, i) => n + (sheets[i]?.run ?? 0), 0), each },
      weights((l) => l.area, own),
    );
  }
  if (prices.side !== undefined) {
    const own = all.filter((i) => sheets[i]?.stock.press);
    const printed = own.reduce((n, i) => n + (sheets[i]?.run ?? 0) * (sheets[i]?.back ? 2 : 1), 0);
    add(
      { what: "sides", count: printed, each: prices.side },
      weights((l) => l.area, own),
    );
  }
  const timed = all.filter((i) => sheets[i]?.work.seconds !== undefined);
  if (prices.minute !== undefined && timed.length > 0) {
    const seconds = timed.reduce((sum, i) => sum + (sheets[i]?.work.seconds ?? 0) * (sheets[i]?.run ?? 0), 0);
    add(
      { what: "minutes", count: seconds / 60, each: prices.minute },
      weights((l) => l.way, timed),
    );
  }
  if (prices.layout !== undefined) {
    const layouts = new Set(sheets.map((s) => s.cutAs)).size;
    add(
      { what: "layouts", count: layouts, each: prices.layout },
      weights((l) => l.area, all),
    );
  }
  if (prices.order !== undefined)
    add(
      { what: "orders", count: orders.length, each: prices.order },
      orders.map(() => 1),
    );
  return rows;
};
