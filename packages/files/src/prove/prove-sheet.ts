import { apply, inverse, toPoints } from "@kitforme/geometry";
import type { CutFormat } from "@kitforme/kit";
import type { PageRaster } from "@kitforme/prepress";
import { codeModules, type Sheet } from "@kitforme/sheet";
import type { ProofFault } from "./fault.ts";
import { paperBeyond, paperUnder } from "./paper-beyond.ts";
import { POSES, type PoseKind, posesOf } from "./poses.ts";
import { codeWindow, proveCode } from "./prove-code.ts";
import { inksOf, inkWindow, proveInks } from "./prove-inks.ts";
import { markWindow, proveMarks } from "./prove-marks.ts";
import { onPage, provePicture, referenceOf } from "./prove-picture.ts";
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
  /** Its pages as they were drawn, where they were drawn whole: front and back. */
  readonly seen: readonly PageRaster[];
}

/** How exactly a bleed is measured in the picture: a pixel, micrometres. */
const PIXEL = 200;

/**
 * Tries the written files of a sheet before it leaves: the print PDF is rendered, the cut files are read back, and both are
 * laid over each other. `marks` finds marks and code in the picture and compares the lines; `full` compares the whole picture
 * with every piece's own artwork and bleed, finds every text, and measures how far the print may be off before paper shows.
 *
 * @returns what it measured, and every fault with its place: one is enough to keep the job back. All are bugs of ours
 */
export const proveSheet = async (
  sheet: Sheet,
  { print, cuts }: WrittenSheet,
  level: "marks" | "full",
  all: References,
): Promise<ProvenSheet> => {
  const references = referencesOfSheet(all);
  const cut = await all.cuts.prove(sheet, cuts);
  const { press } = sheet.stock;
  if (!print || !press) return { proof: { level, worst: { cut: cut.worst } }, faults: cut.faults, seen: [] };
  const modules = codeModules(sheet);
  const code = codeWindow(modules);
  const clear = sheet.stock.cutter.marks.clear;
  const sides = sheet.back ? (["front", "back"] as const) : (["front"] as const);
  const pages: {
    readonly page: SeenPage;
    readonly whole: Seen | undefined;
    readonly parts: readonly (Seen | undefined)[];
  }[] = [];
  const whole = { x: 0, y: 0, width: sheet.width, height: sheet.height };
  for (const side of sides) {
    const own = side === "front" ? [...sheet.marks.map((mark) => markWindow(mark, clear)), code] : [];
    const windows = [...own, ...inksOf(sheet, side).map(({ outlines }) => inkWindow(outlines))];
    const index = pages.length;
    // A page that is not there is told with the count of pages.
    if ((pages[0]?.page.count ?? 1) <= index) break;
    const page = await lookAt(
      all.look,
      print,
      index,
      sheet,
      level === "full" ? [whole] : windows.filter((w) => w !== undefined),
    );
    const picture = level === "full" ? page.parts[0] : undefined;
    let next = 0;
    const parts = windows.map((window) => window && (picture ? cropped(picture, window) : page.parts[next++]));
    pages.push({ page, whole: picture, parts });
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
  for (const [i, side] of sides.entries()) {
    const seen = pages[i]?.whole;
    if (!seen) throw new Error("a page without a part");
    // The back may lie off the front, which the cutter follows, by the register once more.
    const most = press.register * (side === "back" ? 2 : 1) + sheet.stock.cutter.tolerance;
    const picture = await provePicture(sheet, press, side, seen, references);
    const texts = await proveTexts(sheet, press, side, seen, cut.lines, references, { poses, most });
    faults.push(...picture.faults, ...texts.faults);
    printed = Math.max(printed, picture.worst);
    unmeasured += picture.unmeasured;
    text = Math.min(text, texts.room.by);
    for (const kind of POSES) within[kind] = Math.min(within[kind], texts.room.under[kind]);
    for (const placed of sheet.placed) {
      const face = side === "back" ? placed.prepared.back : placed.prepared;
      if (!face) continue;
      const { beyond } = await referenceOf(placed, press, side, references);
      const { by, at } = paperBeyond(beyond);
      paper = Math.min(paper, by);
      const [a, b, c, d, e, f] = placed.matrix;
      const flat = inverse([a, b, c, d, 0, 0]);
      const here: Record<PoseKind, number> = { shift: Infinity, turn: Infinity, stretch: Infinity };
      for (const { kind, off } of poses) {
        const under = paperUnder(beyond, ({ x, y }) => {
          const [u, v] = off({ x: a * x + c * y + e, y: b * x + d * y + f });
          return [flat[0] * u + flat[2] * v, flat[1] * u + flat[3] * v];
        });
        here[kind] = Math.min(here[kind], under.by);
        within[kind] = Math.min(within[kind], under.by);
      }
      // Less than asked for has been said in the tolerance statement; less than was found there is our fault.
      const promised = Math.min(face.bleed?.least ?? 0, most);
      if (by >= promised - PIXEL) continue;
      const { kit, piece } = placed.prepared.piece;
      const [x, y] = at ? apply(onPage(sheet, placed, side), at.x, at.y) : [0, 0];
      const what = `paper would show beyond ${(by / 1000).toFixed(1)} mm at a cut of place ${placed.number} (${kit}, ${piece})${posesWords(here, most)}`;
      faults.push({ check: "paper", what, at: { x, y } });
    }
  }
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
  return { proof, faults, seen: pages.flatMap((one) => one.whole ?? []) };
};

/** The poses within what both machines may be off that are enough. */
const posesWords = (under: Readonly<Record<PoseKind, number>>, most: number): string => {
  const enough = POSES.filter((kind) => under[kind] < most);
  return enough.length === 0
    ? ""
    : ` (${enough.map((kind) => `a ${kind} by ${(under[kind] / 1000).toFixed(1)} mm`).join(", ")})`;
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
