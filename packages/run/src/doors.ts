// The functions of the front door. Each loads its own part of the package when it is first called: whoever wants an estimate loads no
// library of PDFs, and a command is there at once.
import type { Answer, Finding } from "@kitforme/kit";
import type { Checked, CheckOptions, ToCheck } from "./check.ts";
import type { Estimated, EstimateOptions } from "./estimate.ts";
import type { Fitted, ReadJobFile } from "./fit.ts";
import type { Options as Watched } from "./outside/with-openers.ts";
import type { PreviewOptions } from "./preview/opened.ts";
import type { PreviewInput, Previews } from "./preview/open-previews.ts";
import type { Input } from "./read-all.ts";
import type { Options, Outcome } from "./run.ts";
import type { Weighed } from "./weigh.ts";
import type { Openers } from "./outside/openers.ts";
import type { PartWriter } from "./spread/sharing.ts";
import type { Destination, KitStore } from "./world.ts";

/**
 * The whole job: order -> kit -> prepared pieces -> formes -> sheets -> files.
 *
 * The same input gives the same bytes at any time. Faults of the input come back as findings, all in one answer. What it
 * throws is an environment fault of the two doors (`kits`, `out`), the signal's reason, or a bug of ours.
 *
 * @param doors where kits come from, and the destination of a job by the job's name
 *
 * @example
 * const shop = { file: "shop.json", text: await readFile("shop.json", "utf8"), read: besideFile("shop.json") };
 * const order = { file: "order.json", text: await readFile("order.json", "utf8"), read: besideFile("order.json") };
 * const { job, findings } = await run({ shop, orders: [order] }, { kits: kitsIn("kits"), out: () => jobFolder("out") });
 * if (!job) for (const { level, rule, message } of findings) console.log(level, rule, message);
 */
export const run = async (
  input: Input,
  doors: { readonly kits: KitStore; readonly out: (job: string) => Destination },
  options: Options = {},
): Promise<Outcome> => (await import("./run.ts")).run(input, doors, options);

/**
 * Every finding about orders and kits, pictures and texts included; nothing is laid out or written.
 *
 * @example
 * const { findings } = await check({ shop, orders: [order] }, kitsIn("kits"));
 * console.log(hasErrors(findings) ? "cannot be made" : "can be made");
 */
export const check = async (input: ToCheck, kits: KitStore, watch: CheckOptions = {}): Promise<Checked> =>
  (await import("./check.ts")).check(input, kits, watch);

/**
 * What a job would take, without opening a picture or writing a sheet: pieces are laid out by their outlines and their bleed, as
 * `run` lays them, sheets are imposed, and their lengths, lifts and prices are summed. Findings are those of reading alone;
 * `check` looks at pictures and texts.
 *
 * @example
 * const { estimate } = await estimateJob({ shop, orders: [order] }, kitsIn("kits"));
 * console.log(estimate?.sheets, estimate?.price?.total);
 */
export const estimateJob = async (input: Input, kits: KitStore, options: EstimateOptions = {}): Promise<Estimated> =>
  (await import("./estimate.ts")).estimateJob(input, kits, options);

/**
 * What orders take of each stock, without opening an artwork or laying anything out: enough to say whether a gang is worth printing.
 *
 * @example
 * const { sheets } = await weigh({ shop, orders: [order] }, kitsIn("kits"));
 * console.log(sheets.get("HM-1041")?.["card"]); // 0.37 of a sheet of card
 */
export const weigh = async (input: Input, kits: KitStore, options: Watched = {}): Promise<Weighed> =>
  (await import("./weigh.ts")).weigh(input, kits, options);

/**
 * Makes spoiled pieces of a finished job anew: the same pieces with the same words and the same numbers in their orders, laid
 * on make-up sheets, as a job of its own that names the first. It is made from what the first job recorded (`job.input.zip`), so
 * that a kit changed since is made as it was then. The same spoiled pieces, in whatever sequence, give the same bytes.
 *
 * @param read gives a file of the finished job's folder
 * @param spoiled places as `sheet:number`, one for each spoiled piece: the same place twice is two pieces of the run
 *
 * @example
 * await remake((name) => readFile(join("out", name)), ["2:7", "3:1"], () => jobFolder("remake"));
 */
export const remake = async (
  read: ReadJobFile,
  spoiled: readonly string[],
  out: (job: string) => Destination,
  options: Options = {},
): Promise<Outcome> => (await import("./remake.ts")).remake(read, spoiled, out, options);

/**
 * Prints an order of a finished job again, by itself, from what the job recorded (`job.input.zip`): shop, kits, pictures and words as
 * they were then. An order that was made by itself gives the same job, byte for byte; one that lay in a gang gives the job that it
 * would have been by itself. The same order gives the same bytes however often it is printed again.
 *
 * @param read gives a file of the finished job's folder
 * @param options `file`: what findings call the order's file
 *
 * @example
 * await reprint((name) => readFile(join("out", name)), "HM-1041", () => jobFolder("reprint"));
 */
export const reprint = async (
  read: ReadJobFile,
  order: string,
  out: (job: string) => Destination,
  options: Options & { readonly file?: string } = {},
): Promise<Outcome> => (await import("./reprint.ts")).reprint(read, order, out, options);

/**
 * The cut files of a sheet fitted to the sheet as it was printed: in go the marks as a camera read them, out come the same cut
 * files with every line moved along. Nothing is cut by a guess: a reading that does not fit is refused by name, and so is a
 * cut file that is not the job's own any more.
 *
 * @param read gives a file of the job folder
 * @param sheet its number in job.json
 * @param reading the text of marks.json: `{ "seen": [[x, y], …] }`, mm in the camera's own frame, in any order
 *
 * @example
 * const { value, findings } = await fitJob((name) => readFile(join("out", name)), 2, '{ "seen": [[10.2, 13.1], …] }');
 */
export const fitJob = async (read: ReadJobFile, sheet: number, reading: string): Promise<Answer<Fitted>> =>
  (await import("./fit.ts")).fitJob(read, sheet, reading);

/**
 * Reads a shop and one kit and keeps them open. Faults of the input come back as findings; without a `value` nothing was kept.
 * Files of strangers are opened in a process of their own, as in `run`.
 *
 * @example
 * const { value: previews } = await openPreviews({ shop, kits: kitsIn("kits"), kit: "harbour-lantern" });
 * const { png } = (await previews?.preview("wall", { name: "Aino" })) ?? {};
 * await previews?.close();
 */
export const openPreviews = async (
  input: PreviewInput,
  options: PreviewOptions = {},
): Promise<{ readonly value?: Previews; readonly findings: readonly Finding[] }> =>
  (await import("./preview/open-previews.ts")).openPreviews(input, options);

/**
 * Who does parts of jobs that other processes make, one after the other: prepares pieces, lays out stocks, writes sheets. What the
 * last job's sheets have in common is kept for its next one.
 *
 * @example
 * const writer = await partWriter(new Openers());
 * await writer.write("jobs/.kitforme/parts/g7.12-press", "sheet", 3, "part-3");
 */
export const partWriter = async (openers: Openers): Promise<PartWriter> =>
  new (await import("./spread/part.ts")).Parts(openers);
