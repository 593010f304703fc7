import type { Job } from "@kitforme/files";
import { type Finding, hasErrors } from "@kitforme/kit";
import type { Effort } from "@kitforme/layout";
import { lookOver } from "./check.ts"; // what is wrong with the rest
import { type Article, articlesOf } from "./demands-of.ts"; // orders to articles
import { gangAll } from "./gang-all.ts"; //          articles to formes
import { imposeAll } from "./impose-all.ts"; //      formes to proven sheets
import { machineFaults } from "./machine-faults.ts"; // what press and cutter cannot do
import { obstructed } from "./obstructed.ts"; //      pieces that marks keep off every sheet
import { prepareAll } from "./prepare-all.ts"; //    pieces and words, press-ready
import { type Commission, type Input, readAll } from "./read-all.ts"; // bytes to shop, kits, orders
import { recordInput } from "./record-input.ts"; //  what a remake will need
import { setAddresses } from "./set-addresses.ts"; // slips that can be read
import { sheetInks } from "./sheet-inks.ts"; //       what lies over what
import { sortFindings } from "./sort-findings.ts"; // errors first, by place
import type { Sharing } from "./spread/sharing.ts";
import type { Spread } from "./spread/write-sheets.ts"; // who writes them
import { type Options as Watched, withOpeners } from "./outside/with-openers.ts"; // strangers' files, apart
import { tooManySheets } from "./too-many-sheets.ts"; // quantities that nobody means
import { bladeUnaligned } from "./blade-unaligned.ts"; // no room to bring a trailing blade into line
import { cutsShared } from "./cuts-shared.ts"; //     pieces that lie cut on cut
import { wasteFull } from "./waste-full.ts"; //       what the waste had no room for
import type { Work } from "./watch.ts";
import type { Destination, KitStore } from "./world.ts";
import { type Finished, writeAll } from "./write-all.ts"; // sheets to files, manifest last

/** How a job is made. None of it but `effort` and `gang` changes the bytes. */
export interface Options extends Watched {
  /** How long the layout is searched, counted in iterations. Default `normal`. */
  readonly effort?: Effort;
  /** Threads for the layout; the result does not depend on it. Default 2, with one lane 1. */
  readonly threads?: number;
  /**
   * Sheets in hand at once: of 3 one is written, one drawn and one goes onto the disk; 1 keeps the whole job to about one
   * processor. Default 3, on fewer than three processors 2.
   */
  readonly lanes?: number;
  /** Others who may do parts of this job. */
  readonly sharing?: Sharing;
  /** Why these orders are made together, where a queue has decided it; stands in job.json as it is. */
  readonly gang?: Job["gang"];
}

/** `job` is absent when an error stands among the findings: then nothing was written. */
export interface Outcome {
  readonly job?: Job;
  readonly findings: readonly Finding[];
}

/** The whole job: order -> kit -> prepared pieces -> formes -> sheets -> files. See `run` of the front door. */
export const run = async (
  input: Input,
  doors: { readonly kits: KitStore; readonly out: (job: string) => Destination },
  options: Options = {},
): Promise<Outcome> => withOpeners(options, (work) => make(input, doors, options, work));

const make = async (
  input: Input,
  doors: { readonly kits: KitStore; readonly out: (job: string) => Destination },
  options: Options,
  work: Work,
): Promise<Outcome> => {
  const settings = settingsOf(options);
  const record = recordInput(input, doors.kits);
  const read = await readAll(record.input, record.kits, settings, work);
  // Faults in one place do not hide those in another: whatever could be read is looked over all the same.
  if (!read.value) return { findings: sortFindings(await lookOver(read, settings.effort, work)) };
  const { shop, kits, orders } = read.value;
  const articles = articlesOf(orders, kits);
  const findings = [...read.findings, ...tooManySheets(articles, shop)];
  return press({ commission: read.value, articles, findings }, doors.out, settings, work, {
    ...(options.gang ? { gang: options.gang } : {}),
    input: () => record.zip(orders, new Set(kits.keys())),
  });
};

export const settingsOf = ({ effort, threads, lanes, sharing, openers }: Options) => ({
  effort: effort ?? "normal",
  threads: threads ?? (lanes === 1 ? 1 : 2),
  lanes,
  sharing,
  warm: openers !== undefined,
});

/** What is to be made, read and believed. */
export interface Wanted {
  readonly commission: Commission;
  readonly articles: readonly Article[];
  /** Met while reading. */
  readonly findings: readonly Finding[];
}

/** Articles to files: the second half of every job, of a remake too. */
export const press = async (
  { commission: { shop, kits, orders, pictures, job: name }, articles, findings: met }: Wanted,
  door: (job: string) => Destination,
  settings: { readonly effort: Effort; readonly threads: number; readonly warm: boolean } & Spread,
  work: Work,
  more: Pick<Finished, "gang" | "remakes" | "input">,
): Promise<Outcome> => {
  const out = door(name);
  await out.ready?.();
  const ready = await prepareAll(articles, shop, pictures, work, settings);
  const { addresses, findings: unreadable } = await setAddresses(orders, kits, shop, work);
  // Whoever brought openers keeps them warm for the next run.
  if (!settings.warm) await work.openers.rest();
  const soFar = [...met, ...unreadable, ...ready.findings, ...machineFaults([...ready.pieces.values()], shop)];
  if (hasErrors(soFar))
    return { findings: sortFindings([...soFar, ...obstructed(ready.pieces.values(), shop, settings.effort)]) };

  const ganged = await gangAll(articles, ready, shop, settings, work);
  const known = [...soFar, ...ganged.findings];
  if (hasErrors(known)) return { findings: sortFindings(known) };

  const sheets = await imposeAll(name, ganged.plans, ready, work, { orders });
  const findings = sortFindings([
    ...known,
    ...sheetInks(sheets),
    ...wasteFull(sheets),
    ...bladeUnaligned(sheets),
    ...cutsShared(sheets),
  ]);
  const titles = Object.fromEntries([...kits.values()].map(({ kit, title }) => [kit, title]));
  const joins = Object.fromEntries([...kits.values()].flatMap((k) => (k.joins ? [[k.kit, k.joins]] : [])));
  const assembly = Object.fromEntries([...kits.values()].flatMap((k) => (k.assembly ? [[k.kit, k.assembly]] : [])));
  const { plans } = ganged;
  const { prices, proof } = shop;
  const finished = {
    name,
    orders,
    addresses,
    titles,
    joins,
    assembly,
    sheets,
    plans,
    findings,
    prices,
    proof,
    ...more,
  };
  return { job: await writeAll(finished, out, work, settings), findings };
};
