import { type Effort, type Estimate, estimateJob, estimateJson } from "@kitforme/run";
import { EXIT } from "../exit.ts";
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
  const faults = [...unread, ...(kitsFault ? [kitsFault] : [])];
  if (!input || faults.length > 0) return refuse(faults, "Nothing was estimated", outlet);
  const shown = showProgress(outlet, stop);
  const { estimate: made, findings } = await estimateJob(input, kitsInFolder(options.kits), {
    effort: options.effort,
    ...(options.threads === undefined ? {} : { threads: options.threads }),
    onProgress: shown.onProgress,
  }).finally(shown.stop);
  if (!made) return refuse(findings, "Nothing was estimated", outlet);
  for (const finding of findings) outlet.event("finding", finding);
  for (const words of findingsInWords(findings)) outlet.say(words);
  outlet.event("estimated", estimateJson("", made));
  for (const line of inWords(made)) outlet.tell(line);
  outlet.tell(madeHow(options.effort));
  return EXIT.done;
};

/** What the figures hold for, and what an estimate cannot say. */
const madeHow = (effort: Effort): string =>
  `Laid out as \`make --effort ${effort}\` does it. Ink is not estimated: no artwork is opened; job.estimate.json of a made job has it plate by plate.`;

const NAMES: Readonly<Record<string, string>> = {
  creasing: "creased",
  perforating: "perforated",
  partialCutting: "partly cut",
  cutting: "cut",
};
const metres = (mm: number): string => `${(mm / 1000).toFixed(1)} m`;
const square = (mm2: number): string => `${(mm2 / 1e6).toFixed(2)} m2`;

/** The estimate as a person reads it, the price row by row. */
const inWords = ({ sheets, layouts, paper, cutting, orders, price }: Estimate): string[] => {
  const lengths = Object.entries(cutting.length).map(
    ([operation, way]) => `${metres(way)} ${NAMES[operation] ?? operation}`,
  );
  const minutes = cutting.seconds === undefined ? [] : [`${(cutting.seconds / 60).toFixed(0)} minutes on the cutter`];
  const amount = (value: number): string => `${value.toFixed(2)} ${price?.currency ?? ""}`.trimEnd();
  return [
    `${plural(sheets, "sheet")}, ${plural(layouts, "cut layout")}.`,
    ...paper.map(
      (p) => `${p.title}: ${plural(p.sheets, "sheet")}, ${square(p.area)}, waste ${percent(p.waste / p.area)}.`,
    ),
    `${[...lengths, `${metres(cutting.travel)} with the tool raised`, plural(cutting.lifts, "lift"), ...minutes].join(", ")}.`,
    ...(price
      ? [
          ...price.rows.map(
            (row) =>
              `${row.stock === undefined ? row.what : `${row.what} of ${row.stock}`}: ${Number(row.count.toFixed(2))} x ${amount(row.each)} = ${amount(row.amount)}`,
          ),
          `Together ${amount(price.total)}.`,
          ...orders.map((o) => `Order ${o.order}: ${amount(o.price ?? 0)}`),
        ]
      : ["The shop gives no prices."]),
  ];
};
