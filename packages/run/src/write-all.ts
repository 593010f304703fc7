import { type CutFormat, type Finding, hasErrors, type Order, type Prices, type Shop } from "@kitforme/kit";
import {
  checkPrint,
  isOutputProfile,
  type Job,
  type JobFile,
  type JobSheet,
  jobFile,
  jobJson,
  PackedPictures,
  proofThread,
  sayBreaches,
  type ProofThread,
  proveSheet,
  References,
  sayFaults,
  sheetName,
  writeCut,
  writePrint,
  writeProof,
} from "@kitforme/files";
import { outputProfile, statementOf } from "@kitforme/prepress";
import type { Sheet } from "@kitforme/sheet";
import type { StockPlan } from "./gang-all.ts";
import { papersOf } from "./papers-of.ts";
import { VERSIONS } from "./versions.ts";
import { inLanes } from "./lanes.ts";
import { checkpoint, type Watch } from "./watch.ts";
import type { Destination } from "./world.ts";

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

const writeSheet = async (
  sheet: Sheet,
  job: string,
  put: (name: string, bytes: Uint8Array) => Promise<JobFile>,
  proofs: ProofThread,
  {
    pictures,
    references,
    level,
  }: {
    readonly pictures: PackedPictures;
    readonly references: References;
    readonly level: NonNullable<Shop["proof"]>;
  },
): Promise<JobSheet> => {
  const name = sheetName(sheet.sheet);
  const { press, cutter } = sheet.stock;
  const profile = press && outputProfile(press);
  const print = press
    ? await writePrint(sheet, { title: `Job ${job}, sheet ${sheet.sheet} of ${sheet.of}`, profile, pictures })
    : null;
  // Read back as bytes, whatever the writer meant: a file that breaks the checklist never leaves the house.
  if (print) {
    const condition = profile !== null && isOutputProfile(profile.bytes);
    const breaches = await checkPrint(print, { ...sheet, pages: sheet.back ? 2 : 1, condition });
    if (breaches.length > 0) throw new Error(sayBreaches(`${name}.print.pdf`, breaches));
  }
  const cuts: Partial<Record<CutFormat, Uint8Array>> = {};
  for (const format of cutter.formats) cuts[format] = await writeCut(sheet, format);
  const proven = level === "off" ? null : await proveSheet(sheet, { print, cuts }, level, references);
  if (proven && proven.faults.length > 0) throw new Error(sayFaults(name, proven.faults));
  const cut: Partial<Record<CutFormat, JobFile>> = {};
  for (const [format, bytes] of Object.entries(cuts))
    cut[format as CutFormat] = await put(`${name}.cut.${format}`, bytes);
  return {
    sheet,
    files: {
      print: print && (await put(`${name}.print.pdf`, print)),
      cut,
      proof: await put(`${name}.proof.png`, await writeProof(sheet, print, proofs.draw)),
      ...(sheet.back
        ? { backProof: await put(`${name}.back.proof.png`, await writeProof(sheet, print, proofs.draw, "back")) }
        : {}),
    },
    ...(proven ? { proof: proven.proof } : {}),
    ...(press
      ? {
          tolerance: statementOf({
            register: press.register,
            cutter: cutter.tolerance,
            pieces: sheet.placed.flatMap(
              ({
                prepared: {
                  piece: { kit, piece },
                  bleed,
                  back,
                },
              }) => [
                { kit, piece, bleed },
                ...(back ? [{ kit, piece, side: "back" as const, bleed: back.bleed }] : []),
              ],
            ),
          }),
        }
      : {}),
  };
};

const sum = (values: readonly number[]): number => values.reduce((a, b) => a + b, 0);
