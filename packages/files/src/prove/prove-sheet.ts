import { type Rect, toPoints } from "@kitforme/geometry";
import type { CutFormat, Press } from "@kitforme/kit";
import type { PageRaster } from "@kitforme/prepress";
import { codeModules, type Sheet } from "@kitforme/sheet";
import { readPrintOnce } from "../check-print/read-print.ts";
import { comparePage } from "./compare.ts";
import { wordsOf } from "./expected.ts";
import type { ProofFault } from "./fault.ts";
import { changesOf, type KnownPage } from "./known-pages.ts";
import { measureRoom } from "./measure-room.ts";
import { measureShifts } from "./measure-shifts.ts";
import type { Measured } from "./measured.ts";
import { type Painted, paintedOf, withoutObjects } from "./painted.ts";
import { POSES, type PoseKind, posesOf } from "./poses.ts";
import { codeWindow, proveCode } from "./prove-code.ts";
import { inksOf, inkWindow, proveInks } from "./prove-inks.ts";
import { markWindow, proveMarks } from "./prove-marks.ts";
import { provePlaces } from "./prove-places.ts";
import { provePlates } from "./prove-plates.ts";
import { proveTexts } from "./prove-texts.ts";
import { type References, referencesOfSheet } from "./reference.ts";
import { cropped, lookAt, type Seen, type SeenPage } from "./seen.ts";

/** How the written files of a sheet stood the proof. Micrometres. */
export interface SheetProof {
  readonly level: "marks" | "full";
  readonly worst: {
    /** Least way beyond a cut at which paper would show; absent where nothing prints at a cut, or it was not looked for. */
    readonly paper?: number;
    /** Least way from a text to a line of the cutter; absent where none is within 4 mm, or it was not looked for. */
    readonly text?: number;
    /** Most that the print of a piece is found from its place. */
    readonly print?: number;
    /** Most that a line of a cut file is off from the drawing's own. */
    readonly cut: number;
    /** Most that a mark is found from its place; absent for unprinted stock. */
    readonly mark?: number;
    /** How far the code is found from its place; absent for unprinted stock. */
    readonly code?: number;
  };
  /** How far the print may be shifted, turned or stretched, the sheet's farthest point by so much, before paper shows or a text is touched. */
  readonly within?: Readonly<Partial<Record<PoseKind, number>>>;
  /** Prints whose place the picture does not tell: bare, pale or soft. */
  readonly unmeasured?: number;
}

/** What was written for a sheet. */
export interface WrittenSheet {
  readonly print: Uint8Array | null;
  readonly cuts: Readonly<Partial<Record<CutFormat, Uint8Array>>>;
}

/** What a proof comes to. */
export interface ProvenSheet {
  readonly proof: SheetProof;
  readonly faults: readonly ProofFault[];
  /** Its pages as they were drawn, front and back; empty for sheets that look like others of the job. */
  readonly seen: readonly PageRaster[];
}

/**
 * Tries the written files of a sheet before it leaves: the print PDF is rendered, the cut files are read back, and both are
 * laid over each other. `marks` finds marks and code in the picture and compares the lines; `full` compares the whole picture
 * with every piece's own artwork and bleed, finds every text, and measures how far the print may be off before paper shows. Of
 * a sheet that looks like one that has stood it but for its words, only what differs is drawn and compared.
 *
 * @returns what it measured, and every fault with its place: one is enough to keep the job back. All are bugs of ours
 */
export const proveSheet = async (
  sheet: Sheet,
  written: WrittenSheet,
  level: "marks" | "full",
  all: References,
): Promise<ProvenSheet> => {
  const key = all.alike.has(sheet.sheet) ? all.pages.keyOf(sheet) : undefined;
  const prove = (): Promise<ProvenSheet> => proveKeyed(sheet, written, level, all, key);
  return level === "full" && key !== undefined ? all.pages.inTurn(key, prove) : prove();
};

const proveKeyed = async (
  sheet: Sheet,
  { print, cuts }: WrittenSheet,
  level: "marks" | "full",
  all: References,
  key: string | undefined,
): Promise<ProvenSheet> => {
  const references = referencesOfSheet(all);
  const cut = await all.cuts.prove(sheet, cuts);
  const { press } = sheet.stock;
  if (!print || !press) return { proof: { level, worst: { cut: cut.worst } }, faults: cut.faults, seen: [] };
  const modules = codeModules(sheet);
  const code = codeWindow(modules);
  const clear = sheet.stock.cutter.marks.clear;
  const sides = sheet.back ? (["front", "back"] as const) : (["front"] as const);
  const file = level === "full" ? await readPrintOnce(print) : undefined;
  const known = key === undefined ? undefined : all.pages.of(key);
  const pages: Looked[] = [];
  const whole = { x: 0, y: 0, width: sheet.width, height: sheet.height };
  for (const [index, side] of sides.entries()) {
    const own = side === "front" ? [...sheet.marks.map((mark) => markWindow(mark, clear)), code] : [];
    const windows = [...own, ...inksOf(sheet, side).map(({ outlines }) => inkWindow(outlines))];
    // A page that is not there is told with the count of pages.
    if ((pages[0]?.page.count ?? 1) <= index) break;
    const painted = file && paintedOf(file, index);
    const words = file ? wordsOf(sheet, side) : undefined;
    const before = known?.[index];
    const changes = before && painted && words && changesOf(before, painted, words, whole);
    const there = windows.filter((w) => w !== undefined);
    const rects = level === "marks" ? there : changes ? [...there, ...changes] : [whole];
    const page = await lookAt(all.look, print, index, sheet, rects);
    const picture = rects[0] === whole ? page.parts[0] : undefined;
    let next = 0;
    const parts = windows.map((window) => window && (picture ? cropped(picture, window) : page.parts[next++]));
    const changed = picture ? [picture] : page.parts.slice(there.length);
    pages.push({ page, whole: picture, parts, changed, painted, words, known: picture ? undefined : before?.measured });
  }
  const [front] = pages;
  if (!front) throw new Error("a print PDF without a page");
  const marks = proveMarks(sheet.marks, front.parts);
  const codePart = front.parts[sheet.marks.length];
  const found = codePart && proveCode(modules, codePart);
  const faults = [...provePage(sheet, front.page), ...marks.faults, ...(found?.faults ?? []), ...cut.faults];
  const worst = { cut: cut.worst, mark: marks.worst, ...(found?.off === undefined ? {} : { code: found.off }) };
  // A page of another size would only be told again, pixel by pixel.
  if (faults.some(({ check }) => check === "page")) return { proof: { level, worst }, faults, seen: [] };
  for (const [i, side] of sides.entries()) {
    const first = side === "front" ? sheet.marks.length + 1 : 0;
    faults.push(...(await proveInks(sheet, press, side, (k) => pages[i]?.parts[first + k], references)));
  }
  if (level === "marks") return { proof: { level, worst }, faults, seen: [] };

  let [paper, text, printed, unmeasured] = [Infinity, Infinity, 0, 0];
  const poses = posesOf(sheet);
  const within: Record<PoseKind, number> = { shift: Infinity, turn: Infinity, stretch: Infinity };
  const proven: KnownPage[] = [];
  for (const [i, side] of sides.entries()) {
    const looked = pages[i];
    if (!looked) throw new Error("a page without a part");
    // The back may lie off the front, which the cutter follows, by the register once more.
    const most = press.register * (side === "back" ? 2 : 1) + sheet.stock.cutter.tolerance;
    const { painted, words, changed } = looked;
    for (const part of changed) faults.push(...(await comparePage(sheet, press, side, part, references)));
    if (painted) faults.push(...provePlaces(sheet, side, painted));
    const measured = looked.known ?? (await measure(sheet, press, side, looked, references, most));
    const texts = await proveTexts(sheet, press, side, changed, cut.lines, references, { poses, most });
    faults.push(...measured.shifts.faults, ...measured.room.faults, ...texts.faults);
    printed = Math.max(printed, measured.shifts.worst);
    unmeasured += measured.shifts.unmeasured;
    paper = Math.min(paper, measured.room.by);
    text = Math.min(text, texts.room.by);
    for (const kind of POSES) within[kind] = Math.min(within[kind], texts.room.under[kind], measured.room.under[kind]);
    if (file && painted) faults.push(...provePlates(sheet, side, file, painted));
    if (painted && words) proven.push({ painted: withoutObjects(painted), words, measured });
  }
  if (key !== undefined && faults.length === 0 && proven.length === sides.length) all.pages.keep(key, proven);
  const finite = <K extends string>(all: Readonly<Record<K, number>>) =>
    Object.fromEntries(Object.entries<number>(all).filter(([, um]) => Number.isFinite(um))) as Partial<
      Record<K, number>
    >;
  const proof: SheetProof = {
    level,
    worst: { ...finite({ paper, text }), print: printed, ...worst },
    within: finite(within),
    ...(unmeasured > 0 ? { unmeasured } : {}),
  };
  // Of sheets that look alike some pages were drawn whole and others not, by who wrote which first: that may not show.
  const seen = key === undefined ? pages.flatMap((one) => one.whole ?? []) : [];
  return { proof, faults, seen };
};

/** A page, as far as it was looked at. */
interface Looked {
  readonly page: SeenPage;
  readonly whole: Seen | undefined;
  /** Around marks, code and what else stands in the waste. */
  readonly parts: readonly (Seen | undefined)[];
  /** What is to be compared: the whole page, or what differs from a known one. */
  readonly changed: readonly Seen[];
  readonly painted: Painted | undefined;
  readonly words: ReadonlyMap<string, Rect> | undefined;
  readonly known: Measured | undefined;
}

const measure = async (
  sheet: Sheet,
  press: Press,
  side: "front" | "back",
  { whole }: Looked,
  references: Pick<References, "of">,
  most: number,
): Promise<Measured> => {
  if (!whole) throw new Error("a page that is not known was not drawn whole");
  const shifts = await measureShifts(sheet, press, side, whole, references);
  return { shifts, room: await measureRoom(sheet, press, side, references, most) };
};

/** The page is the sheet, and there is one for each side. */
const provePage = (sheet: Sheet, { page, count }: SeenPage): ProofFault[] => {
  const faults: ProofFault[] = [];
  const [width, height] = [toPoints(sheet.width), toPoints(sheet.height)];
  // 0.01 pt is the exactness of PDF/X boxes by common practice; the file has four places.
  if (Math.abs(page.width - width) > 0.01 || Math.abs(page.height - height) > 0.01)
    faults.push({ check: "page", what: `the page is ${page.width} x ${page.height} pt, not ${width} x ${height}` });
  const pages = sheet.back ? 2 : 1;
  if (count !== pages) faults.push({ check: "page", what: `the print PDF has ${count} pages, not ${pages}` });
  return faults;
};
