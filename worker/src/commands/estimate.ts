import { type Effort, type Estimate, estimateJob, estimateJson, type Openers } from "@kitforme/run";
import { EXIT } from "../exit.ts";
import { faultOfCache } from "../fault-of-cache.ts";
import { faultOfKits } from "../kit-folders.ts";
import { kitsInFolder } from "../kits-of-user.ts";
import type { Outlet } from "../outlet.ts";
import type { Stop } from "../stop.ts";
import { showProgress } from "../progress.ts";
import { readInput } from "../read-input.ts";
import { refuse } from "../refuse.ts";
import { findingsInWords, percent, plural } from "../words.ts";

export interface EstimateCommandOptions {
  readonly shop: string;
  readonly kits: string;
  readonly effort: Effort;
  readonly threads?: number;
  readonly ink?: boolean;
  readonly cache?: string;
  readonly ahead: Openers;
}

/** What a job would take and cost; nothing is written. */
export const estimate = async (
  orders: readonly string[],
  options: EstimateCommandOptions,
  outlet: Outlet,
  stop: Stop,
): Promise<number> => {
  const { input, findings: unread } = await readInput(options.shop, orders);
  const kitsFault = await faultOfKits(options.kits);
  const cacheFault = await faultOfCache(options.ink ? options.cache : undefined);
  const faults = [...unread, ...(kitsFault ? [kitsFault] : []), ...(cacheFault ? [cacheFault] : [])];
  if (!input || faults.length > 0) return refuse(faults, "Nothing was estimated", outlet);
  const shown = showProgress(outlet, stop);
  const { estimate: made, findings } = await estimateJob(input, kitsInFolder(options.kits), {
    effort: options.effort,
    ...(options.threads === undefined ? {} : { threads: options.threads }),
    ...(options.ink ? { ink: true } : {}),
    ahead: options.ahead,
    onProgress: shown.onProgress,
  }).finally(shown.stop);
  if (!made) return refuse(findings, "Nothing was estimated", outlet);
  for (const finding of findings) outlet.event("finding", finding);
  for (const words of findingsInWords(findings)) outlet.say(words);
  outlet.event("estimated", estimateJson("", made));
  for (const line of inWords(made)) outlet.tell(line);
  for (const line of madeHow(options, made)) outlet.tell(line);
  return EXIT.done;
};

/** What the figures hold for, and what they leave out. */
const madeHow = ({ effort, ink = false }: EstimateCommandOptions, { ink: weighed }: Estimate): string[] => [
  `Laid out as \`make --effort ${effort}\` does it.`,
  ...(ink ? [] : ["Ink by plate is weighed with --ink, which opens the artwork and takes some seconds more."]),
  ...(ink && !weighed ? ["No ink is weighed: it can be of a press that prints in four inks."] : []),
];

const NAMES: Readonly<Record<string, string>> = {
  creasing: "creased",
  perforating: "perforated",
  partialCutting: "partly cut",
  cutting: "cut",
};
/** Square metres that each ink would cover. */
const inkInWords = ({ spots, ...plates }: NonNullable<Estimate["ink"]>): string =>
  `Ink as full areas: ${[...Object.entries(plates), ...Object.entries(spots ?? {})]
    .map(([plate, area]) => `${plate} ${(area / 1e6).toFixed(3)} m2`)
    .join(", ")}.`;
const metres = (mm: number): string => `${(mm / 1000).toFixed(1)} m`;
const square = (mm2: number): string => `${(mm2 / 1e6).toFixed(2)} m2`;

/** An amount with the decimals of its currency; the price of one, with up to so many as the shop gave it. */
const priced = (value: number, currency: string, most?: number): string => {
  const form = { style: "currency", currency, useGrouping: false } as const;
  const digits = new Intl.NumberFormat("en", form).resolvedOptions().maximumFractionDigits ?? 2;
  const figures = {
    useGrouping: false,
    minimumFractionDigits: digits,
    maximumFractionDigits: Math.max(digits, most ?? 0),
  };
  return `${new Intl.NumberFormat("en", figures).format(value)} ${currency}`;
};

/** The estimate as a person reads it, the price row by row. */
const inWords = ({ sheets, layouts, paper, cutting, ink, orders, price }: Estimate): string[] => {
  const lengths = Object.entries(cutting.length).map(
    ([operation, way]) => `${metres(way)} ${NAMES[operation] ?? operation}`,
  );
  const minutes = cutting.seconds === undefined ? [] : [`${(cutting.seconds / 60).toFixed(0)} minutes on the cutter`];
  const amount = (value: number, most?: number): string => priced(value, price?.currency ?? "EUR", most);
  return [
    `${plural(sheets, "sheet")}, ${plural(layouts, "cut layout")}.`,
    ...paper.map(
      (p) => `${p.title}: ${plural(p.sheets, "sheet")}, ${square(p.area)}, waste ${percent(p.waste / p.area)}.`,
    ),
    `${[...lengths, `${metres(cutting.travel)} with the tool raised`, plural(cutting.lifts, "lift"), ...minutes].join(", ")}.`,
    ...(ink ? [inkInWords(ink)] : []),
    ...(price
      ? [
          ...price.rows.map(
            (row) =>
              `${row.stock === undefined ? row.what : `${row.what} of ${row.stock}`}: ${Number(row.count.toFixed(2))} x ${amount(row.each, 6)} = ${amount(row.amount)}`,
          ),
          `Together ${amount(price.total)}.`,
          ...orders.map((o) => `Order ${o.order}: ${amount(o.price ?? 0)}`),
        ]
      : ["The shop gives no prices."]),
  ];
};
