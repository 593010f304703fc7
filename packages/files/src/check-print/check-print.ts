import { PDFArray, type PDFPageLeaf } from "../pdf-lib.ts";
import { pt } from "../pdf/content.ts";
import type { Fault } from "./fault.ts";
import { OF_ALL, OF_PDFX } from "./letters.ts";
import { dictAt, name, type PrintFile, readPrintOnce } from "./read-print.ts";

/** What a finished print PDF must be besides the checklist's letters. Lengths in micrometres. */
export interface Expected {
  readonly width: number;
  readonly height: number;
  /** 1, or 2 with a back. */
  readonly pages: number;
  /** Whether the press has a printing condition, so that the file is to be built to the checklist of PDF/X-4. */
  readonly condition: boolean;
}

/** What a look at finished files found wrong: our fault, never the input's. */
export interface Breach extends Fault {
  /** A letter of the checklist; `pages`, `boxes`, `steps` for what is the house's own rule. */
  readonly letter: string;
}

/** Boxes agree within this many points. */
const NEAR = 0.01;

/**
 * Reads a finished print PDF back, object by object, and holds it against the checklist of PDF/X-4 (letters a to q: ISO
 * 15930-7 as far as public sources give it; the standard's own text was not seen), the sheet's size, and the rule that
 * no processing step is ever in it. What it finds is a fault of ours.
 *
 * @param expected what the sheet is
 * @returns breaches, letter by letter; none for a good file
 */
export const checkPrint = async (bytes: Uint8Array, expected: Expected): Promise<readonly Breach[]> => {
  let file: PrintFile;
  try {
    file = await readPrintOnce(bytes);
  } catch (error) {
    return [
      { letter: "a", says: `The file cannot be read: ${error instanceof Error ? error.message : String(error)}.` },
    ];
  }
  const letters = [...OF_ALL, ...(expected.condition ? OF_PDFX : [])].sort(([a], [b]) => (a < b ? -1 : a > b ? 1 : 0));
  return [
    ...letters.flatMap(([letter, faults]) => faults(file).map((fault) => ({ letter, ...fault }))),
    ...file.unreadable.map((object) => ({ letter: "m", says: "A content stream cannot be read.", object })),
    ...pagesOf(file, expected),
    ...stepsOf(file),
  ];
};

const pagesOf = ({ pages }: PrintFile, { width, height, pages: count }: Expected): Breach[] => {
  const sheet = [0, 0, Number(pt(width)), Number(pt(height))];
  const is = (page: PDFPageLeaf, box: string): boolean => {
    const array = page.get(name(box));
    const sides = array instanceof PDFArray ? array.asArray().map((side) => Number(side.toString())) : [];
    return sides.length === 4 && sides.every((side, i) => Math.abs(side - (sheet[i] ?? Number.NaN)) <= NEAR);
  };
  return [
    ...(pages.length === count
      ? []
      : [{ letter: "pages", says: `The file has ${pages.length} pages instead of ${count}.` }]),
    ...pages.flatMap((page) => [
      ...["MediaBox", "CropBox", "BleedBox", "TrimBox"]
        .filter((box) => !is(page, box))
        .map((box) => ({ letter: "boxes", says: `${box} of a page is not the sheet.` })),
      ...(page.has(name("ArtBox")) ? [{ letter: "boxes", says: "A page has both TrimBox and ArtBox." }] : []),
      ...(page.has(name("UserUnit")) || page.has(name("Rotate"))
        ? [{ letter: "boxes", says: "A page is turned or scaled." }]
        : []),
    ]),
  ];
};

/** Lines to cut or crease are of the cut files; in a print PDF they would print (ISO 19593-1 names them in a layer's metadata). */
const stepsOf = ({ dicts }: PrintFile): Breach[] =>
  dicts
    .filter(({ dict }) => {
      const group = dictAt(dict, "GTS_Metadata")?.lookup(name("GTS_ProcStepsGroup"));
      return group?.toString() === "/Structural";
    })
    .map(({ object }) => ({
      letter: "steps",
      says: "A layer is a processing step: lines to cut would print.",
      object,
    }));

/** Breaches in one sentence, for whoever reads the log of a job that failed. */
export const sayBreaches = (file: string, breaches: readonly Breach[]): string =>
  `${file} was written wrong: ${breaches
    .map(({ letter, says, object }) => `${letter}: ${says}${object === undefined ? "" : ` (object ${object})`}`)
    .join(" ")}`;
