import { type Finding, hasErrors, type Order, type Prices, type Shop } from "@kitforme/kit";
import {
  alikeSheets,
  CutBodies,
  drawingHere,
  drawingThreads,
  type Job,
  type JobFile,
  type JobSheet,
  jobFile,
  jobJson,
  PackedPictures,
  ProofLayers,
  References,
} from "@kitforme/files";
import type { Sheet } from "@kitforme/sheet";
import type { StockPlan } from "./gang-all.ts";
import { papersOf } from "./papers-of.ts";
import { versions } from "./versions.ts";
import { type Spread, writeSheets } from "./spread/write-sheets.ts";
import type { Watch } from "./watch.ts";
import { WholePrints } from "./whole-prints.ts";
import type { Destination } from "./world.ts";
import { writeSheet } from "./write-sheet.ts";

export interface Finished {
  readonly name: string;
  readonly orders: readonly Order[];
  readonly addresses: NonNullable<Job["addresses"]>;
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

/** Sheets whose proofs are not worth a thread. */
const FEW = 3;

/** Writes every file of a job, by itself or together with others; the manifest comes last. */
export const writeAll = async (
  finished: Finished,
  out: Destination,
  watch: Watch,
  spread: Spread = {},
): Promise<Job> => {
  if (hasErrors(finished.findings)) throw new Error("a job with errors came as far as being written");
  await out.open();
  const put = async (name: string, bytes: Uint8Array): Promise<JobFile> => {
    await out.put(name, bytes);
    return jobFile(name, bytes);
  };
  const wholes = await WholePrints.begin(finished.name, finished.sheets, out);
  const putOfSheet = async (name: string, bytes: Uint8Array): Promise<JobFile> =>
    // What is in the file of all sheets alone gets that file's entry when it is whole.
    (await wholes.take(name, bytes)) ? put(name, bytes) : { name, bytes: bytes.length, sha256: "" };
  const { lanes } = spread;
  const level = finished.proof ?? "marks";
  // A job that is to keep to one processor's worth draws its proofs between the sheets; one of a few sheets is drawn sooner than
  // a thread has started.
  const few = finished.sheets.length <= FEW && level !== "full";
  const threads = lanes === 1 || few ? drawingHere() : drawingThreads();
  const pictures = new PackedPictures();
  const alike = alikeSheets(finished.sheets);
  const references = new References(threads.look, alike);
  const bodies = new CutBodies();
  const layers = new ProofLayers(alike, pictures);
  let sheets: readonly JobSheet[];
  try {
    sheets = await writeSheets(
      { job: finished.name, proof: level, alike: [...alike], sheets: finished.sheets },
      spread,
      (sheet) => writeSheet(sheet, finished.name, putOfSheet, threads, { pictures, references, bodies, layers, level }),
      putOfSheet,
      watch,
    );
    sheets = await wholes.keep(sheets);
  } catch (error) {
    await wholes.drop();
    throw error;
  } finally {
    await threads.close();
  }
  const job: Job = {
    job: finished.name,
    sheets,
    orders: finished.orders,
    ...(finished.addresses.size > 0 ? { addresses: finished.addresses } : {}),
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
    versions: await versions(),
    ...(finished.gang ? { gang: finished.gang } : {}),
    ...(finished.remakes ? { remakes: finished.remakes } : {}),
  };
  const papers: JobFile[] = [];
  for await (const { name, bytes } of papersOf(job, finished.prices)) papers.push(await put(name, bytes));
  if (finished.input) papers.push(await put("job.input.zip", await finished.input()));
  const whole = { ...job, papers };
  await out.finish("job.json", new TextEncoder().encode(`${JSON.stringify(jobJson(whole), null, 1)}\n`));
  return whole;
};

const sum = (values: readonly number[]): number => values.reduce((a, b) => a + b, 0);
