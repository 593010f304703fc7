import { inkOfSheet } from "./ink-of-sheet.ts";
import type { Um } from "@kitforme/geometry";
import type { Cutter } from "@kitforme/kit";
import type { ToleranceStatement } from "@kitforme/prepress";
import type { CuttingWork, Placed, Sheet } from "@kitforme/sheet";
import type { SheetProof } from "./prove/prove-sheet.ts";
import { type Job, type JobFile, type JobSheet, pageOf, servedBy } from "./job.ts";

/**
 * `job.json` as an object: the fixed fields of the contract in millimetres, and beyond them what a checker or a store may
 * want to know: hashes of the files, what each sheet shares its cut with, how far the plan is from the known bound.
 *
 * @example
 * const { job } = await run({ shop, orders: [order] }, { kits: kitsIn("kits"), out: () => jobFolder("out") });
 * if (job) console.log(JSON.stringify(jobJson(job)));
 */
export const jobJson = (job: Job): object => ({
  job: job.job,
  orders: job.orders.map((o) => o.order),
  sheets: job.sheets.map(sheetJson),
  ...(job.gang ? { gang: job.gang } : {}),
  ...(job.remakes ? { remakes: job.remakes } : {}),
  totals: totalsOf(job),
  plan: {
    cost: rounded(job.plan.cost, 4),
    bound: { sheets: rounded(job.plan.bound.sheets, 4), cost: rounded(job.plan.bound.cost, 4) },
  },
  findings: job.findings,
  files: [...new Set(job.sheets.flatMap(filesOf)), ...(job.papers ?? [])],
  units: { length: "mm", angle: "degree" },
  versions: job.versions,
});

/** Exact at the last place kept, and never -0. */
const rounded = (value: number, places: number): number => Number(value.toFixed(places)) + 0;

/** Whole micrometres are exact in three decimals. */
const length = (um: Um): number => rounded(um / 1000, 3);

const sheetJson = ({ sheet, files, tolerance, proof }: JobSheet): object => ({
  sheet: sheet.sheet,
  stock: sheet.stock.stock,
  size: [length(sheet.width), length(sheet.height)],
  run: sheet.run,
  code: sheet.code,
  slug: sheet.slug,
  ...(sheet.waste
    ? {
        furniture: sheet.waste.placed.map(({ item, box }) => ({
          what: item,
          box: [box.x, box.y, box.width, box.height].map(length),
        })),
      }
    : {}),
  files: {
    ...(files.print ? { print: files.print.name } : {}),
    ...(files.whole ? { whole: { print: files.whole.file.name, page: files.whole.page } } : {}),
    cut: Object.fromEntries(Object.entries(files.cut).map(([format, file]) => [format, file.name])),
    proof: files.proof.name,
    ...(files.backProof ? { backProof: files.backProof.name } : {}),
  },
  sides: sheet.stock.press ? (sheet.back ? 2 : 1) : 0,
  ...(sheet.back ? { work: workOrder(sheet, pageOf(files)) } : {}),
  cutSameAs: sheet.cutAs,
  cutter: cutterJson(sheet.stock.cutter),
  marks: sheet.marks.map(({ at, shape, size }) => ({ at: [length(at.x), length(at.y)], shape, size: length(size) })),
  placements: sheet.placed.map((placed) => placementJson(placed, sheet.run)),
  yield: rounded(sheet.yield, 4),
  cutLength: rounded(sheet.cutLength, 3),
  cutting: workJson(sheet.work),
  ...inkJson(sheet),
  ...(tolerance ? { tolerance: toleranceJson(tolerance) } : {}),
  ...(proof ? { proof: proofJson(proof) } : {}),
});

const inkJson = (sheet: Sheet): object => {
  const [front, back] = [inkOfSheet(sheet, "front"), inkOfSheet(sheet, "back")];
  return front ? { ink: { ...front, ...(back ? { back } : {}) } } : {};
};

/** The way of a sheet with a back: it is cut as it was printed first, its marks on top. */
const workOrder = ({ stock }: Sheet, page: number): object[] => {
  const edge = stock.press?.turn ?? "long";
  return [
    { do: "print", side: "front", page },
    { do: "turn", edge },
    { do: "print", side: "back", page: page + 1 },
    { do: "turn", edge },
    { do: "cut", side: "front" },
  ];
};

/** Prepress states tolerances in micrometres; shares and words stay as they are. */
const toleranceJson = (tolerance: ToleranceStatement): object => ({
  ...tolerance,
  register: length(tolerance.register),
  cutter: length(tolerance.cutter),
  pieces: tolerance.pieces.map((piece) => ({
    ...piece,
    bleed: length(piece.bleed),
    worst: length(piece.worst),
    likely: length(piece.likely),
    spareWorst: length(piece.spareWorst),
    spareLikely: length(piece.spareLikely),
  })),
});

/** Hundredths of a millimetre: the sight of the proof is no finer. */
const proofJson = ({ level, worst, within, unmeasured }: SheetProof): object => {
  const lengths = (all: object): object =>
    Object.fromEntries(Object.entries(all).map(([what, um]: [string, number]) => [what, rounded(um / 1000, 2)]));
  return {
    level,
    worst: lengths(worst),
    ...(within ? { within: lengths(within) } : {}),
    ...(unmeasured ? { unmeasured } : {}),
  };
};

/** What a reader of the cut files must know of the machine they were written for. */
const cutterJson = ({ name, tools, axes }: Cutter): object => ({
  name,
  tools,
  axes: { origin: axes.origin, swap: axes.swap, offset: axes.offset.map(length) },
});

/** Metres are for people: every length of the manifest is in millimetres. */
const workJson = ({ length, travel, lifts, seconds }: CuttingWork): object => ({
  length: Object.fromEntries(Object.entries(length).map(([operation, way]) => [operation, rounded(way, 3)])),
  travel: rounded(travel, 3),
  lifts,
  ...(seconds === undefined ? {} : { seconds: rounded(seconds, 1) }),
});

const placementJson = ({ number, prepared, wording, turn, matrix, serves }: Placed, run: number): object => {
  const [a, b, c, d, e, f] = matrix;
  return {
    number,
    kit: prepared.piece.kit,
    piece: prepared.piece.piece,
    texts: wording,
    turn: rounded(turn, 6),
    matrix: [...[a, b, c, d].map((n) => rounded(n, 6)), rounded(e / 1000, 3), rounded(f / 1000, 3)],
    serves: serves.map(({ order, first, last }) => ({ order, first, last })),
    overs: run - servedBy(serves),
  };
};

/**
 * Sums over all sheets as often as they are printed; `yield` is of the paper, between 0 and 1.
 *
 * @example
 * const { job } = await run({ shop, orders: [order] }, { kits: kitsIn("kits"), out: () => jobFolder("out") });
 * if (job) console.log(totalsOf(job).sheets, "sheets");
 */
export const totalsOf = ({ sheets }: Pick<Job, "sheets">) => {
  const sum = (of: (sheet: Sheet) => number): number => sheets.reduce((total, { sheet }) => total + of(sheet), 0);
  const paper = sum((s) => s.run * s.width * s.height);
  return {
    sheets: sum((s) => s.run),
    layouts: sheets.length,
    cutLayouts: new Set(sheets.map(({ sheet }) => sheet.cutAs)).size,
    yield: paper === 0 ? 0 : rounded(sum((s) => s.yield * s.run * s.width * s.height) / paper, 4),
    pieces: sum((s) => s.placed.reduce((n, p) => n + servedBy(p.serves), 0)),
    overs: sum((s) => s.placed.reduce((n, p) => n + s.run - servedBy(p.serves), 0)),
  };
};

const filesOf = ({ files }: JobSheet): JobFile[] => [
  ...(files.print ? [files.print] : []),
  ...(files.whole ? [files.whole.file] : []),
  ...Object.values(files.cut),
  files.proof,
  ...(files.backProof ? [files.backProof] : []),
];
