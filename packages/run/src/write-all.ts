import { type Finding, hasErrors, type Order, type Prices, type Shop } from "@kitforme/kit";
import {
  type Job,
  type JobFile,
  type JobSheet,
  jobFile,
  jobJson,
  PackedPictures,
  proofThread,
  References,
} from "@kitforme/files";
import type { Sheet } from "@kitforme/sheet";
import type { StockPlan } from "./gang-all.ts";
import { papersOf } from "./papers-of.ts";
import { VERSIONS } from "./versions.ts";
import { inLanes } from "./lanes.ts";
import { checkpoint, type Watch } from "./watch.ts";
import type { Destination } from "./world.ts";
import { writeSheet } from "./write-sheet.ts";

export interface Finished {
  readonly name: string;
  readonly orders: readonly Order[];
  readonly titles: Readonly<Record<string, string>>;
  readonly joins: NonNullable<Job["joins"]>;
  readonly assembly: NonNullable<Job["assembly"]>;
  readonly sheets: readonly Sheet[];
  readonly plans: readonly StockPlan[];
  readonly findings: readonly Finding[];
  /** The shop's, for the estimate. */
  readonly prices?: Prices | undefined;
  /** How far written files are tried; left out: marks. */
  readonly proof?: Shop["proof"];
  readonly gang?: Job["gang"];
  readonly remakes?: Job["remakes"];
  /** All that a remake needs, as one file; left out, the job cannot be remade. */
  readonly input?: () => Promise<Uint8Array>;
}

/** Writes every file of a job, two sheets at a time so that no more are in memory; the manifest comes last. */
export const writeAll = async (finished: Finished, out: Destination, watch: Watch): Promise<Job> => {
  if (hasErrors(finished.findings)) throw new Error("a job with errors came as far as being written");
  await out.open();
  const put = async (name: string, bytes: Uint8Array): Promise<JobFile> => {
    await out.put(name, bytes);
    return jobFile(name, bytes);
  };
  let done = 0;
  const of = finished.sheets.length;
  const proofs = proofThread();
  const pictures = new PackedPictures();
  const references = new References();
  const level = finished.proof ?? "marks";
  let sheets: JobSheet[];
  try {
    sheets = await inLanes(finished.sheets, 2, async (sheet) => {
      await checkpoint(watch, { phase: "write", done, of, what: `sheet ${sheet.sheet}` });
      const written = await writeSheet(sheet, finished.name, put, proofs, { pictures, references, level });
      done++;
      return written;
    });
  } finally {
    await proofs.close();
  }
  const job: Job = {
    job: finished.name,
    sheets,
    orders: finished.orders,
    titles: finished.titles,
    joins: finished.joins,
    assembly: finished.assembly,
    findings: finished.findings,
    plan: {
      cost: sum(finished.plans.map(({ plan }) => plan.cost)),
      bound: {
        sheets: sum(finished.plans.map(({ plan }) => plan.bound.sheets)),
        cost: sum(finished.plans.map(({ plan }) => plan.bound.cost)),
      },
    },
    versions: VERSIONS,
    ...(finished.gang ? { gang: finished.gang } : {}),
    ...(finished.remakes ? { remakes: finished.remakes } : {}),
  };
  const papers: JobFile[] = [];
  for (const { name, bytes } of await papersOf(job, finished.prices)) papers.push(await put(name, bytes));
  if (finished.input) papers.push(await put("job.input.zip", await finished.input()));
  const whole = { ...job, papers };
  await out.finish("job.json", new TextEncoder().encode(`${JSON.stringify(jobJson(whole), null, 1)}\n`));
  return whole;
};

const sum = (values: readonly number[]): number => values.reduce((a, b) => a + b, 0);
