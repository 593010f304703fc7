import { outlinesArea } from "@kitforme/geometry";
import { inkOfSheet } from "@kitforme/files/record";
import { OPERATIONS, type Prices } from "@kitforme/kit";
import type { Sheet } from "@kitforme/sheet";
import { type Load, loadsOf } from "./loads-of.ts";
import { priceRows, type Row, unitsOf } from "./price-rows.ts";

/** Paper of one stock. Areas in mm2 over all sheets of the run. */
interface PaperUsed {
  readonly stock: string;
  readonly title: string;
  readonly sheets: number;
  readonly area: number;
  /** Outside the placed outlines. */
  readonly waste: number;
}

const PLATES = ["cyan", "magenta", "yellow", "black"] as const;
type Plate = (typeof PLATES)[number];

/** One row of the price as a person reads it. */
export interface PriceRow extends Pick<Row, "what" | "stock" | "count" | "each"> {
  readonly amount: number;
}

/** What a job takes. Lengths in mm, areas in mm2, over every sheet as often as it is cut. */
export interface Estimate {
  readonly sheets: number;
  readonly layouts: number;
  readonly paper: readonly PaperUsed[];
  readonly cutting: {
    readonly length: Readonly<Record<string, number>>;
    readonly travel: number;
    readonly lifts: number;
    /** Left out where a cutter of the job has no speeds. */
    readonly seconds?: number;
  };
  /**
   * What is taken of each ink: square millimetres that it would cover at 100 %, as job.json has it of every sheet; spot inks by
   * name where they have plates of their own. Left out where a picture was not weighed: in an estimate that opens none, and on
   * presses that do not print in inks.
   */
  readonly ink?: Readonly<Record<Plate, number>> & { readonly spots?: Readonly<Record<string, number>> };
  readonly orders: readonly {
    readonly order: string;
    /** Shares of the area of all pieces and of the way under the tool, 0 to 1. */
    readonly area: number;
    readonly way: number;
    /** In the shop's currency; only with prices. */
    readonly price?: number;
  }[];
  /** Only with prices: rows and total in the shop's currency, with as many decimals as it has. */
  readonly price?: {
    readonly currency: string;
    readonly rows: readonly PriceRow[];
    readonly total: number;
  };
}

/**
 * What a job takes and costs, out of its finished sheets: the numbers are the job's own, nothing is estimated twice. The prices
 * of the orders add up to the total exactly, to a cent, or to what the currency's smallest unit is.
 *
 * @param orders names, in the job's order
 * @param prices of the shop; without them there is no price
 */
export const estimateOf = (sheets: readonly Sheet[], orders: readonly string[], prices?: Prices): Estimate => {
  const sum = (of: (sheet: Sheet) => number): number => sheets.reduce((total, s) => total + of(s) * s.run, 0);
  const length = Object.fromEntries(
    OPERATIONS.flatMap((o) => {
      const way = sum((s) => s.work.length[o] ?? 0);
      return way > 0 ? [[o, way]] : [];
    }),
  );
  const timed = sheets.every((s) => s.work.seconds !== undefined);
  const rows = prices ? priceRows(sheets, orders, prices) : [];
  const units = prices ? unitsOf(prices.currency) : 1;
  const ink = inkOf(sheets);
  const taken = sheets.map(loadsOf);
  const loads = orders.map((order, i) => ({
    order,
    ...loadOf(taken, order),
    cents: rows.reduce((total, row) => total + (row.shares[i] ?? 0), 0),
  }));
  const [area, way] = [loads.reduce((t, l) => t + l.area, 0), loads.reduce((t, l) => t + l.way, 0)];
  return {
    sheets: sum(() => 1),
    layouts: new Set(sheets.map((s) => s.cutAs)).size,
    paper: paperOf(sheets),
    cutting: {
      length,
      travel: sum((s) => s.work.travel),
      lifts: sum((s) => s.work.lifts),
      ...(timed ? { seconds: sum((s) => s.work.seconds ?? 0) } : {}),
    },
    ...(ink ? { ink } : {}),
    orders: loads.map((load) => ({
      order: load.order,
      area: area > 0 ? load.area / area : 0,
      way: way > 0 ? load.way / way : 0,
      ...(prices ? { price: load.cents / units } : {}),
    })),
    ...(prices
      ? {
          price: {
            currency: prices.currency,
            rows: rows.map(
              ({ what, stock, count, each, cents }): PriceRow => ({
                what,
                ...(stock === undefined ? {} : { stock }),
                count,
                each,
                amount: cents / units,
              }),
            ),
            total: rows.reduce((total, row) => total + row.cents, 0) / units,
          },
        }
      : {}),
  };
};

const loadOf = (taken: readonly ReadonlyMap<string, Load>[], order: string): Load =>
  taken.reduce(
    (sum, loads) => {
      const load = loads.get(order);
      return load ? { area: sum.area + load.area, way: sum.way + load.way } : sum;
    },
    { area: 0, way: 0 },
  );

/** Paper by stock, in the order the job uses it. */
const paperOf = (sheets: readonly Sheet[]): PaperUsed[] =>
  [...new Set(sheets.map((s) => s.stock.stock))].map((stock) => {
    const own = sheets.filter((s) => s.stock.stock === stock);
    const sum = (of: (sheet: Sheet) => number): number => own.reduce((total, s) => total + of(s) * s.run, 0);
    const area = sum((s) => (s.width * s.height) / 1e6);
    const used = sum((s) => s.placed.reduce((t, p) => t + outlinesArea(p.prepared.piece.parts) / 1e6, 0));
    return { stock, title: own[0]?.stock.title ?? stock, sheets: sum(() => 1), area, waste: area - used };
  });

/** Ink by plate over all sheets of the run, fronts and backs, from the means of the sheets. */
const inkOf = (sheets: readonly Sheet[]): Estimate["ink"] => {
  const sums = { cyan: 0, magenta: 0, yellow: 0, black: 0 };
  const spots = new Map<string, number>();
  const printed = sheets.filter(({ stock }) => stock.press);
  for (const sheet of printed) {
    const weighed = sheet.placed.every(
      ({ prepared: { piece, ink, back } }) => (!piece.artwork || ink) && (!piece.back?.artwork || back?.ink),
    );
    const front = inkOfSheet(sheet, "front");
    if (!weighed || !front) return undefined;
    const area = ((sheet.width * sheet.height) / 1e6) * sheet.run;
    for (const side of [front, inkOfSheet(sheet, "back")]) {
      for (const plate of PLATES) sums[plate] += ((side?.mean[plate] ?? 0) / 100) * area;
      for (const [name, mean] of Object.entries(side?.mean.spots ?? {}))
        spots.set(name, (spots.get(name) ?? 0) + (mean / 100) * area);
    }
  }
  if (printed.length === 0) return undefined;
  return spots.size === 0 ? sums : { ...sums, spots: Object.fromEntries(spots) };
};
