import { rmSync } from "node:fs";
import {
  type Attempt,
  attemptAt,
  cautionsFor,
  check,
  type Effort,
  type Finding,
  HoldsAnotherJob,
  type Outcome,
  run,
  totalsOf,
} from "@kitforme/run";
import { join } from "node:path";
import { EXIT } from "../exit.ts";
import { faultOfOut } from "../fault-of-out.ts";
import { say } from "../faults.ts";
import { faultOfKits } from "../kit-folders.ts";
import type { Outlet } from "../outlet.ts";
import { showProgress } from "../progress.ts";
import { kitsInFolder } from "../kits-of-user.ts";
import { readInput } from "../read-input.ts";
import { refuse } from "../refuse.ts";
import { cautionsInWords, countInWords, findingsInWords, percent, plural } from "../words.ts";

export interface MakeOptions {
  readonly shop: string;
  readonly kits: string;
  readonly out: string;
  readonly effort: Effort;
  readonly threads?: number;
  /** Whether another job's finished folder may be replaced. */
  readonly replace?: boolean;
}

/** Milliseconds after a signal in which a run may end by itself; then the process ends. */
const ENDING = 1_200;

/** Somebody wanted it to end: nobody's fault. */
export class Stopped extends Error {
  constructor() {
    super("Stopped by a signal; nothing was written to the job folder.");
  }
}

/** The main job, here and now: orders in, a job folder out. */
export const make = async (orders: readonly string[], options: MakeOptions, outlet: Outlet): Promise<number> => {
  const { input, findings: unread } = await readInput(options.shop, orders);
  const kitsFault = await faultOfKits(options.kits);
  const outFault = await faultOfOut(options.out);
  const faults = [...unread, ...(kitsFault ? [kitsFault] : []), ...(outFault ? [outFault] : [])];
  if (!input || faults.length > 0) {
    // What can be read is looked over all the same: every fault in one answer.
    const rest = input && !kitsFault ? await check(input, kitsInFolder(options.kits)) : undefined;
    return refuse([...faults, ...(rest?.findings ?? [])], "Nothing was made", outlet);
  }
  const shown = showProgress(outlet);
  const stop = new AbortController();
  let attempt: Attempt | undefined;
  const onSignal = () => {
    stop.abort(new Stopped());
    // A long computation looks at the signal when it comes to a pause; whoever pressed the keys is not kept waiting for it.
    setTimeout(() => {
      if (attempt) rmSync(attempt.folder, { recursive: true, force: true });
      process.stderr.write(`${new Stopped().message}\n`);
      process.exit(EXIT.ours);
    }, ENDING).unref();
  };
  process.once("SIGINT", onSignal);
  process.once("SIGTERM", onSignal);
  try {
    const own = await attemptAt(options.out, options.replace === true);
    attempt = own;
    const outcome = await run(
      input,
      { kits: kitsInFolder(options.kits), out: (job) => own.destination(job) },
      {
        effort: options.effort,
        ...(options.threads === undefined ? {} : { threads: options.threads }),
        onProgress: shown.onProgress,
        signal: stop.signal,
      },
    );
    shown.stop();
    if (!outcome.job) return refuse(outcome.findings, "Nothing was made", outlet);
    await own.publish();
    report(outcome.job, outcome.findings, options.out, outlet);
    return EXIT.done;
  } catch (error) {
    if (error instanceof HoldsAnotherJob)
      return refuse([say("folder-holds-another-job", { file: options.out }, {})], "Nothing was made", outlet);
    throw error;
  } finally {
    await attempt?.discard();
    shown.stop();
    process.off("SIGINT", onSignal);
    process.off("SIGTERM", onSignal);
  }
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
