import { join } from "node:path";
import {
  cautionsFor,
  check,
  type Effort,
  type Finding,
  type Openers,
  type Outcome,
  run,
  totalsOf,
} from "@kitforme/run";
import { faultOfCache } from "../fault-of-cache.ts";
import { faultOfOut } from "../fault-of-out.ts";
import { faultOfKits } from "../kit-folders.ts";
import type { Outlet } from "../outlet.ts";
import { showProgress } from "../progress.ts";
import { kitsInFolder } from "../kits-of-user.ts";
import { readInput } from "../read-input.ts";
import { refuse } from "../refuse.ts";
import type { Stop } from "../stop.ts";
import { intoFolder } from "./into-folder.ts";
import { cautionsInWords, countInWords, findingsInWords, percent, plural } from "../words.ts";

export interface MakeOptions {
  readonly shop: string;
  readonly kits: string;
  readonly out: string;
  readonly effort: Effort;
  readonly threads?: number;
  /** Whether another job's finished folder may be replaced. */
  readonly replace?: boolean;
  readonly cache?: string;
  readonly ahead: Openers;
}

/** The main job, here and now: orders in, a job folder out. */
export const make = async (
  orders: readonly string[],
  options: MakeOptions,
  outlet: Outlet,
  stop: Stop,
): Promise<number> => {
  const { input, findings: unread } = await readInput(options.shop, orders);
  const kitsFault = await faultOfKits(options.kits);
  const outFault = await faultOfOut(options.out);
  const cacheFault = await faultOfCache(options.cache);
  const faults = [...unread, ...[kitsFault, outFault, cacheFault].filter((fault) => fault !== undefined)];
  if (!input || faults.length > 0) {
    // What can be read is looked over all the same: every fault in one answer.
    const rest =
      input && !kitsFault ? await check(input, kitsInFolder(options.kits), { ahead: options.ahead }) : undefined;
    return refuse([...faults, ...(rest?.findings ?? [])], "Nothing was made", outlet);
  }
  const shown = showProgress(outlet, stop);
  return intoFolder(
    { out: options.out, replace: options.replace === true },
    (out) =>
      run(
        input,
        { kits: kitsInFolder(options.kits), out },
        {
          effort: options.effort,
          ahead: options.ahead,
          ...(options.threads === undefined ? {} : { threads: options.threads }),
          onProgress: shown.onProgress,
          signal: stop.signal,
        },
      ).finally(shown.stop),
    ({ job, findings }) => report(job, findings, options.out, outlet),
    outlet,
    stop,
  );
};

const report = (job: NonNullable<Outcome["job"]>, findings: readonly Finding[], out: string, outlet: Outlet): void => {
  const cautions = cautionsFor(job.sheets.map((s) => s.sheet));
  for (const finding of findings) outlet.event("finding", finding);
  for (const caution of cautions) outlet.event("caution", caution);
  const { sheets, layouts, yield: share } = totalsOf(job);
  outlet.event("done", { job: job.job, folder: out, sheets, layouts, yield: share });

  for (const words of findingsInWords(findings)) outlet.tell(words);
  outlet.tell(
    `Job ${job.job}: ${plural(job.orders.length, "order")} on ${plural(sheets, "sheet")} in ${plural(layouts, "layout")}, yield ${percent(share)}, ${countInWords(findings)}.`,
  );
  for (const { sheet } of job.sheets) {
    const same = sheet.cutAs === sheet.sheet ? "" : `, cut as sheet ${sheet.cutAs}`;
    outlet.tell(
      `  sheet ${String(sheet.sheet).padStart(3)}  ${sheet.stock.title}, ${plural(sheet.placed.length, "piece")}, print ${sheet.run}x, yield ${percent(sheet.yield)}, ${(sheet.cutLength / 1000).toFixed(1)} m of cut${same}`,
    );
  }
  outlet.tell(
    `Look first at ${join(out, "sheet-001.proof.png")}, then at ${join(out, "job.docket.pdf")}, which sorts the pieces back into orders.`,
  );
  for (const words of cautionsInWords(cautions)) outlet.tell(words);
};
