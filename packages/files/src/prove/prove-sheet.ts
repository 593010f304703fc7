import { apply, toPoints } from "@kitforme/geometry";
import type { CutFormat } from "@kitforme/kit";
import { codeModules, type Sheet } from "@kitforme/sheet";
import type { ProofFault } from "./fault.ts";
import { codeWindow, proveCode } from "./prove-code.ts";
import { proveCuts } from "./prove-cuts.ts";
import { markWindow, proveMarks } from "./prove-marks.ts";
import { onPage, provePicture, referenceOf } from "./prove-picture.ts";
import { proveTexts } from "./prove-texts.ts";
import type { References } from "./reference.ts";
import { lookAt, type SeenPage } from "./seen.ts";

/** How the written files of a sheet stood the proof. Micrometres. */
export interface SheetProof {
  readonly level: "marks" | "full";
  readonly worst: {
    /** Least way beyond a cut at which paper would show; absent where nothing prints at a cut, or it was not looked for. */
    readonly paper?: number;
    /** Most that a line of a cut file is off from the drawing's own. */
    readonly cut: number;
    /** Most that a mark is found from its place; absent for unprinted stock. */
    readonly mark?: number;
  };
}

/** What was written for a sheet. */
export interface WrittenSheet {
  readonly print: Uint8Array | null;
  readonly cuts: Readonly<Partial<Record<CutFormat, Uint8Array>>>;
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
  references: References,
): Promise<{ readonly proof: SheetProof; readonly faults: readonly ProofFault[] }> => {
  const cut = proveCuts(sheet, cuts);
  const { press } = sheet.stock;
  if (!print || !press) return { proof: { level, worst: { cut: cut.worst } }, faults: cut.faults };
  const modules = codeModules(sheet);
  const code = codeWindow(modules);
  const clear = sheet.stock.cutter.marks.clear;
  const windows = [...sheet.marks.map((mark) => markWindow(mark, clear)), ...(code ? [code] : [])];
  const front = await lookAt(print, 0, sheet, windows);
  const marks = proveMarks(sheet.marks, front.parts);
  const codePart = code && front.parts.at(-1);
  const faults = [
    ...provePage(sheet, front),
    ...marks.faults,
    ...(codePart ? proveCode(modules, codePart) : []),
    ...cut.faults,
  ];
  const worst = { cut: cut.worst, mark: marks.worst };
  // A page of another size would only be told again, pixel by pixel.
  if (level === "marks" || faults.some(({ check }) => check === "page")) return { proof: { level, worst }, faults };

  const whole = { x: 0, y: 0, width: sheet.width, height: sheet.height };
  let paper = Infinity;
  for (const side of sheet.back ? (["front", "back"] as const) : (["front"] as const)) {
    const [seen] = (await lookAt(print, side === "back" ? 1 : 0, sheet, [whole])).parts;
    if (!seen) throw new Error("a page without a part");
    faults.push(...(await provePicture(sheet, press, side, seen, references)));
    faults.push(...(await proveTexts(sheet, press, side, seen, cut.lines, references)));
    for (const placed of sheet.placed) {
      const face = side === "back" ? placed.prepared.back : placed.prepared;
      if (!face) continue;
      const { by, at } = (await referenceOf(placed, press, side, references)).paper;
      paper = Math.min(paper, by);
      // Less than asked for has been said in the tolerance statement; less than was found there is our fault.
      const promised = Math.min(face.bleed?.least ?? 0, press.register + sheet.stock.cutter.tolerance);
      if (by >= promised - PIXEL) continue;
      const { kit, piece } = placed.prepared.piece;
      const [x, y] = at ? apply(onPage(sheet, placed, side), at.x, at.y) : [0, 0];
      const what = `paper would show beyond ${(by / 1000).toFixed(1)} mm at a cut of place ${placed.number} (${kit}, ${piece})`;
      faults.push({ check: "paper", what, at: { x, y } });
    }
  }
  return { proof: { level, worst: { ...worst, ...(Number.isFinite(paper) ? { paper } : {}) } }, faults };
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
