import {
  cautionsFor,
  type Effort,
  type Finding,
  type Input,
  jobFolder,
  kitsIn,
  type Outcome,
  run,
  totalsOf,
} from "@kitforme/run";
import { join } from "node:path";
import { EXIT } from "../exit.ts";
import { readNamed } from "../files.ts";
import type { Outlet } from "../outlet.ts";
import { showProgress } from "../progress.ts";
import { refuse } from "../refuse.ts";
import { countInWords, findingInWords, percent, plural } from "../words.ts";

export interface MakeOptions {
  readonly shop: string;
  readonly kits: string;
  readonly out: string;
  readonly effort: Effort;
  readonly threads?: number;
}

/** The main job, here and now: orders in, a job folder out. */
export const make = async (orders: readonly string[], options: MakeOptions, outlet: Outlet): Promise<number> => {
  const input = await readInput(options.shop, orders);
  if ("findings" in input) return refuse(input.findings, "Nothing was made", outlet);
  const shown = showProgress(outlet);
  const stop = new AbortController();
  const onSignal = () =>
    stop.abort(new Error("stopped by a signal; the job folder has no job.json and is not finished"));
  process.once("SIGINT", onSignal);
  process.once("SIGTERM", onSignal);
  try {
    const outcome = await run(
      input,
      { kits: kitsIn(options.kits), out: () => jobFolder(options.out) },
      {
        effort: options.effort,
        ...(options.threads === undefined ? {} : { threads: options.threads }),
        onProgress: shown.onProgress,
        signal: stop.signal,
      },
    );
    shown.stop();
    if (!outcome.job) return refuse(outcome.findings, "Nothing was made", outlet);
    report(outcome.job, outcome.findings, options.out, outlet);
    return EXIT.done;
  } finally {
    shown.stop();
    process.off("SIGINT", onSignal);
    process.off("SIGTERM", onSignal);
  }
};

/** Shop and orders by their paths, or the findings about those that cannot be read, all of them. */
export const readInput = async (shop: string, orders: readonly string[]): Promise<Input | { findings: Finding[] }> => {
  const [shopFile, ...orderFiles] = await Promise.all([
    readNamed(shop, "the shop's file"),
    ...orders.map((path) => readNamed(path, "the order")),
  ]);
  const findings = [shopFile, ...orderFiles].flatMap((f) => (f && "finding" in f ? [f.finding] : []));
  if (findings.length > 0 || !shopFile || "finding" in shopFile) return { findings };
  return {
    shop: { file: shop, text: shopFile.text },
    orders: orderFiles.map((f, i) => ({ file: orders[i] as string, text: "text" in f ? f.text : "" })),
  };
};

const report = (job: NonNullable<Outcome["job"]>, findings: readonly Finding[], out: string, outlet: Outlet): void => {
  for (const finding of findings) outlet.event("finding", finding);
  const { sheets, layouts, yield: share } = totalsOf(job);
  outlet.event("done", { job: job.job, folder: out, sheets, layouts, yield: share });

  for (const finding of findings.filter((f) => f.level !== "note")) outlet.tell(findingInWords(finding));
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
  for (const { title, text } of cautionsFor(job.sheets.map((s) => s.sheet))) outlet.tell(`${title}: ${text}`);
};
