import { placeAll, type Point } from "@kitforme/geometry";
import type { CutFormat, Operation } from "@kitforme/kit";
import type { Sheet } from "@kitforme/sheet";
import { identityOf } from "../cut/identity.ts";
import { READABLE, readCut } from "../cut/read-cut.ts";
import type { ProofFault } from "./fault.ts";

/** A line, of the drawing at its place or as read back. */
export interface Way {
  readonly operation: Operation;
  readonly tool?: Operation;
  readonly closed: boolean;
  readonly points: readonly Point<"sheet">[];
}

/** What a format may be off by, micrometres: chords and whole micrometres; half an HP-GL unit of 25 each way besides. */
const OFF: Readonly<Record<(typeof READABLE)[number], number>> = { svg: 15, dxf: 15, hpgl: 35 };
/** Lines are compared at points no farther apart than this, micrometres. */
const STEP = 1000;
/** Width of a cell of the index of lines, micrometres. */
const CELL = 4000;

/**
 * Every cut file as its bytes say, read back and laid over the lines that the kit's drawings have at their places: nothing
 * more, nothing less, every operation its own. Where the knife is meant to leave the line (tabs, dashes, a trailing blade) it
 * is the sheet's planned path instead.
 * @returns the largest distance between a file and those lines, micrometres, and the lines of the most exact file
 */
export const proveCuts = (
  sheet: Sheet,
  cuts: Readonly<Partial<Record<CutFormat, Uint8Array>>>,
): { readonly worst: number; readonly faults: ProofFault[]; readonly lines: readonly Way[] } => {
  const { path } = sheet.stock.cutter;
  const plain = path.bladeOffset === 0 && path.tabs === null && Object.keys(path.dash).length === 0;
  const designed: Way[] = plain
    ? sheet.placed.flatMap(({ prepared, matrix }) =>
        prepared.piece.lines.map((l) => ({ ...l, points: placeAll(matrix, l.points) })),
      )
    : [...sheet.paths];
  const faults: ProofFault[] = [];
  let worst = 0;
  let lines: readonly Way[] | undefined;
  for (const format of READABLE) {
    const bytes = cuts[format];
    if (!bytes) continue;
    const tell = (what: string, at?: Point<"sheet">): void =>
      void faults.push({ check: "cut", what: `the ${format} cut file ${what}`, ...(at ? { at } : {}) });
    const text = new TextDecoder().decode(bytes);
    const own = format === "hpgl" ? `CO"${sheet.job}-${sheet.sheet}-${sheet.of}";` : identityOf(sheet);
    if (!text.includes(own)) tell("does not name this job and sheet");
    let read: readonly Way[];
    try {
      read = readCut(bytes, format, sheet);
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
      const beyond = farthest(found, wanted);
      const missing = farthest(wanted, found);
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

/** Measures how far points are from these lines; Infinity beyond 4 mm. */
export const nearestLine = (lines: readonly Way[]): ((p: Point<"sheet">) => number) => {
  const index = indexed(lines);
  return (p) => nearest(index, p);
};

/** The point of `lines` that lies farthest from all of `others`. */
const farthest = (lines: readonly Way[], others: readonly Way[]): { by: number; at?: Point<"sheet"> } => {
  const index = indexed(others);
  let worst: { by: number; at?: Point<"sheet"> } = { by: 0 };
  for (const line of lines)
    for (const at of sampled(line)) {
      const by = nearest(index, at);
      if (by > worst.by) worst = { by, at };
    }
  return worst;
};

type Segment = readonly [ax: number, ay: number, bx: number, by: number];
const keyAt = (x: number, y: number): number => Math.floor(y / CELL) * 100_000 + Math.floor(x / CELL);

const segmentsOf = ({ points, closed }: Way): Segment[] =>
  points.flatMap((p, i): Segment[] => {
    const q = points[i + 1] ?? (closed ? points[0] : undefined);
    return q ? [[p.x, p.y, q.x, q.y]] : [];
  });

const indexed = (ways: readonly Way[]): ReadonlyMap<number, readonly Segment[]> => {
  const cells = new Map<number, Segment[]>();
  for (const segment of ways.flatMap(segmentsOf)) {
    const [ax, ay, bx, by] = segment;
    for (let y = Math.floor(Math.min(ay, by) / CELL); y <= Math.floor(Math.max(ay, by) / CELL); y++)
      for (let x = Math.floor(Math.min(ax, bx) / CELL); x <= Math.floor(Math.max(ax, bx) / CELL); x++) {
        const key = y * 100_000 + x;
        const cell = cells.get(key);
        if (cell) cell.push(segment);
        else cells.set(key, [segment]);
      }
  }
  return cells;
};

const sampled = function* (way: Way): Generator<Point<"sheet">> {
  for (const [ax, ay, bx, by] of segmentsOf(way)) {
    const count = Math.max(1, Math.ceil(Math.hypot(bx - ax, by - ay) / STEP));
    for (let i = 0; i < count; i++) yield { x: ax + ((bx - ax) * i) / count, y: ay + ((by - ay) * i) / count };
  }
  const last = way.points.at(-1);
  if (last) yield last;
};

/** Distance to the nearest segment of the neighbouring cells; infinite when none is there. */
const nearest = (index: ReadonlyMap<number, readonly Segment[]>, { x, y }: Point<"sheet">): number => {
  let least = Infinity;
  for (let dy = -1; dy <= 1; dy++)
    for (let dx = -1; dx <= 1; dx++)
      for (const [ax, ay, bx, by] of index.get(keyAt(x, y) + dy * 100_000 + dx) ?? []) {
        const [ux, uy] = [bx - ax, by - ay];
        const length = ux * ux + uy * uy;
        const t = length === 0 ? 0 : Math.max(0, Math.min(1, ((x - ax) * ux + (y - ay) * uy) / length));
        least = Math.min(least, Math.hypot(x - ax - t * ux, y - ay - t * uy));
      }
  return least;
};
