import { placeAll, type Point } from "@kitforme/geometry";
import type { CutFormat } from "@kitforme/kit";
import type { Sheet } from "@kitforme/sheet";
import { READABLE, readCut } from "../cut/read-cut.ts";
import type { ProofFault } from "./fault.ts";
import { indexed, type LineIndex, nearest, sampled, type Way } from "./lines.ts";
import { ownName } from "./own-name.ts";

/** What a format may be off by, micrometres: chords and whole micrometres; half an HP-GL unit of 25 each way besides. */
const OFF: Readonly<Record<CutFormat, number>> = { svg: 15, dxf: 15, pdf: 15, hpgl: 35 };

/** What the cut files of a sheet were found to be. */
export interface ProvenLines {
  readonly worst: number;
  readonly faults: readonly ProofFault[];
  readonly lines: readonly Way[];
}

/**
 * Every cut file as its bytes say, read back and laid over the lines that the kit's drawings have at their places: nothing
 * more, nothing less, every operation its own. Where the knife is meant to leave the line (tabs, dashes, a trailing blade) it
 * is the sheet's planned path instead.
 * @returns the largest distance between a file and those lines, micrometres, and the lines of the most exact file
 */
export const proveCuts = async (
  sheet: Sheet,
  cuts: Readonly<Partial<Record<CutFormat, Uint8Array>>>,
): Promise<ProvenLines> => {
  const { path } = sheet.stock.cutter;
  const plain = path.bladeOffset === 0 && path.tabs === null && Object.keys(path.dash).length === 0;
  const designed: Way[] = plain
    ? sheet.placed.flatMap(({ prepared, matrix }) =>
        prepared.piece.lines.map((l) => ({ ...l, points: placeAll(matrix, l.points) })),
      )
    : [...sheet.paths];
  const faults: ProofFault[] = [];
  // The designed lines of an operation are the same for every format.
  const known = new Map<string, LineIndex>();
  const indexOf = (key: string, wanted: readonly Way[]): LineIndex => {
    const index = known.get(key) ?? indexed(wanted);
    known.set(key, index);
    return index;
  };
  let worst = 0;
  let lines: readonly Way[] | undefined;
  for (const format of READABLE) {
    const bytes = cuts[format];
    if (!bytes) continue;
    const tell = (what: string, at?: Point<"sheet">): void =>
      void faults.push({ check: "cut", what: `the ${format} cut file ${what}`, ...(at ? { at } : {}) });
    const text = new TextDecoder().decode(bytes);
    // The metadata of a PDF stand in it plain, as ISO 32000 (14.3.2) wants them.
    if (!text.includes(ownName(sheet, format))) tell("does not name this job and sheet");
    let read: readonly Way[];
    try {
      read = await readCut(bytes, format, sheet);
    } catch (error) {
      tell(`cannot be read back: ${error instanceof Error ? error.message : String(error)}`);
      continue;
    }
    lines ??= read;
    // In HP-GL an operation is the pen that does it.
    const keyOf = ({ operation, tool }: Way): string =>
      format === "hpgl" ? `pen ${sheet.stock.cutter.tools[tool ?? operation]?.pen}` : operation;
    for (const key of new Set([...designed, ...read].map(keyOf))) {
      const [wanted, found] = [designed.filter((w) => keyOf(w) === key), read.filter((w) => keyOf(w) === key)];
      const beyond = farthest(found, indexOf(key, wanted));
      const missing = farthest(wanted, indexed(found));
      for (const { by } of [beyond, missing]) if (Number.isFinite(by)) worst = Math.max(worst, by);
      if (beyond.by > OFF[format])
        tell(`has a line (${key}) that no piece has, or ${off(beyond.by)} from it`, beyond.at);
      if (missing.by > OFF[format])
        tell(`lacks a line of a piece (${key}), or has it ${off(missing.by)} off`, missing.at);
    }
  }
  return { worst, faults, lines: lines ?? sheet.paths };
};

const off = (um: number): string => (Number.isFinite(um) ? `${(um / 1000).toFixed(2)} mm` : "far");

/** The point of `lines` that lies farthest from all of others. */
const farthest = (lines: readonly Way[], index: LineIndex): { by: number; at?: Point<"sheet"> } => {
  let worst: { by: number; at?: Point<"sheet"> } = { by: 0 };
  for (const line of lines)
    for (const at of sampled(line)) {
      const by = nearest(index, at);
      if (by > worst.by) worst = { by, at };
    }
  return worst;
};
