import { createHash } from "node:crypto";
import { type CutSheet, readCut, writeCut } from "@kitforme/files";
import { mm, type Point, toMm } from "@kitforme/geometry";
import {
  type Answer,
  error,
  type MadeJob,
  type MadeSheet,
  quoted,
  readMadeJob,
  readReading,
  sayer,
  type Words,
} from "@kitforme/kit";
import { type Fit, fitSheet } from "@kitforme/sheet";

/** What can be wrong with the job folder that a fit is asked of. */
export interface FitFacts {
  "job-unfinished": object;
  "job-no-sheet": { readonly sheet: number; readonly sheets: number };
  "cut-unreadable": { readonly sheet: number };
  "cut-changed": { readonly file: string };
}

const FIT_WORDS: Words<FitFacts> = {
  "job-unfinished": () =>
    error("The folder holds no job.json: it is no finished job.", "Name the folder that a job was made into."),
  "job-no-sheet": ({ sheet, sheets }) =>
    error(`The job has no sheet ${sheet}.`, `Its sheets are numbered from 1 to ${sheets}.`),
  "cut-unreadable": ({ sheet }) =>
    error(
      `Sheet ${sheet} has no cut file that can be read back.`,
      "Give the cutter a format in shop.json and make the job again.",
    ),
  "cut-changed": ({ file }) =>
    error(
      `The file ${quoted(file)} is not the one that the job wrote.`,
      "Take the folder as it was made, or make the job again.",
    ),
};

const say = sayer(FIT_WORDS);

/** A file of the job folder by its name; undefined when there is none. */
export type ReadJobFile = (name: string) => Promise<Uint8Array | undefined>;

/** How a sheet lies as it was printed, and its cut files moved there. */
export interface Fitted extends Omit<Fit, "at"> {
  /** The sheet's cut files as they fit the print, by the names they have in the job folder. */
  readonly files: readonly { readonly name: string; readonly bytes: Uint8Array }[];
}

/** The most exact first; a cut PDF is written again from what another holds. */
const FORMATS = ["svg", "dxf", "hpgl", "pdf"] as const;

/** See `fitJob` of the front door. */
export const fitJob = async (read: ReadJobFile, sheet: number, reading: string): Promise<Answer<Fitted>> => {
  const manifest = await read("job.json");
  const job = manifest
    ? readMadeJob(new TextDecoder().decode(manifest))
    : { findings: [say("job-unfinished", {}, {})] };
  const seen = readReading(reading);
  const findings = [...job.findings, ...seen.findings];
  if (!job.value || !seen.value) return { findings };
  const made = job.value.sheets.find((s) => s.sheet === sheet);
  if (!made)
    return { findings: [...findings, say("job-no-sheet", { sheet }, { sheet, sheets: job.value.sheets.length })] };

  const fit = fitSheet(
    made.marks.map(({ at }) => ({ x: toMm(at.x), y: toMm(at.y) })),
    seen.value,
    { sheet },
  );
  findings.push(...fit.findings);
  if (!fit.value) return { findings };
  const cut = await ownCut(read, made, job.value);
  findings.push(...cut.findings);
  if (!cut.value) return { findings };

  const { at, ...rest } = fit.value;
  const move = ({ x, y }: Point): Point<"sheet"> => {
    const to = at({ x: toMm(x), y: toMm(y) });
    return { x: mm(to.x), y: mm(to.y) };
  };
  const fitted: CutSheet = {
    ...frameOf(made),
    job: job.value.job,
    sheet,
    of: job.value.sheets.length,
    marks: made.marks.map((mark) => ({ ...mark, at: move(mark.at) })),
    paths: cut.value.map((path) => ({ ...path, points: path.points.map(move) })),
  };
  const files = await Promise.all(
    FORMATS.flatMap((format) => {
      const name = made.cut[format];
      return name === undefined ? [] : [writeCut(fitted, format).then((bytes) => ({ name, bytes }))];
    }),
  );
  return { value: { ...rest, files }, findings };
};

const frameOf = ({ width, height, cutter }: MadeSheet): Pick<CutSheet, "width" | "height" | "stock"> => ({
  width,
  height,
  stock: { cutter },
});

/** The sheet's tool paths out of the most exact of its cut files, when that is still the job's own. */
const ownCut = async (read: ReadJobFile, made: MadeSheet, { hashes }: MadeJob): Promise<Answer<CutSheet["paths"]>> => {
  const { sheet } = made;
  const format = FORMATS.find((f) => made.cut[f] !== undefined);
  if (!format) return { findings: [say("cut-unreadable", { sheet }, { sheet })] };
  const file = made.cut[format] as string;
  const bytes = await read(file);
  if (!bytes || createHash("sha256").update(bytes).digest("hex") !== hashes.get(file))
    return { findings: [say("cut-changed", { sheet, file }, { file })] };
  return { value: await readCut(bytes, format, frameOf(made)), findings: [] };
};
