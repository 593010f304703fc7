import type { Estimate } from "./estimate-of.ts";

const rounded = (value: number, places: number): number => Number(value.toFixed(places)) + 0;

/**
 * `job.estimate.json` as an object: lengths in mm, areas in mm2, seconds, amounts in the shop's currency.
 *
 * @example
 * const { estimate } = await estimateJob({ shop, orders: [order] }, kitsIn("kits"));
 * if (estimate) console.log(JSON.stringify(estimateJson("", estimate)));
 */
export const estimateJson = (job: string, { cutting, paper, ink, orders, price, ...rest }: Estimate): object => ({
  job,
  ...rest,
  paper: paper.map((p) => ({ ...p, area: rounded(p.area, 3), waste: rounded(p.waste, 3) })),
  cutting: {
    length: Object.fromEntries(Object.entries(cutting.length).map(([operation, way]) => [operation, rounded(way, 3)])),
    travel: rounded(cutting.travel, 3),
    lifts: cutting.lifts,
    ...(cutting.seconds === undefined ? {} : { seconds: rounded(cutting.seconds, 1) }),
  },
  ...(ink ? { ink: inkAreas(ink) } : {}),
  orders: orders.map((o) => ({ ...o, area: rounded(o.area, 6), way: rounded(o.way, 6) })),
  ...(price ? { price: { ...price, rows: price.rows.map((row) => ({ ...row, count: rounded(row.count, 4) })) } } : {}),
  units: { length: "mm", area: "mm2", time: "s" },
});

const inkAreas = ({ spots, ...plates }: NonNullable<Estimate["ink"]>): object => {
  const areas = (of: Readonly<Record<string, number>>): object =>
    Object.fromEntries(Object.entries(of).map(([name, area]) => [name, rounded(area, 3)]));
  return { ...areas(plates), ...(spots ? { spots: areas(spots) } : {}) };
};
