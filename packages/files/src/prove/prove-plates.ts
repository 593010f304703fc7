import { outlinesBounds } from "@kitforme/geometry";
import { PDFDict, type PDFObject, PDFRawStream } from "../pdf-lib.ts";
import type { Sheet } from "@kitforme/sheet";
import { dictAt, name, nameAt, type PrintFile, type Program } from "../check-print/read-print.ts";
import { onPage, sideOf } from "./expected.ts";
import type { ProofFault } from "./fault.ts";
import { type Painted, plateNames } from "./painted.ts";
import { boundsOfData, rectAt } from "./rects.ts";

/** How far a patch may lie from its place in the file, micrometres, and its tint from what it is to be. */
const OFF = 20;
const TINT = 0.001;

/**
 * Spot inks on plates of their own, as the file's operators have them: in a picture on screen a spot ink and the process inks
 * that stand for it look the same. Every kept spot ink of a piece is painted with by its artwork there, and every patch of
 * the waste that shows one is filled with it.
 */
export const provePlates = (
  sheet: Sheet,
  side: "front" | "back",
  file: PrintFile,
  { items }: Painted,
): ProofFault[] => {
  const faults: ProofFault[] = [];
  const forms = items.flatMap(({ object }) => (object ? [object] : []));
  const known = new Map<PDFRawStream, ReadonlySet<string>>();
  const programs = new Map(file.programs.map((program) => [program.stream, program]));
  let next = 0;
  for (const placed of sheet.placed) {
    const face = side === "back" ? placed.prepared.back : placed.prepared;
    if (!face) continue;
    const form = face.layers.length > 0 ? forms[next++] : undefined;
    next += sideOf(placed.pictures, side).length;
    const spots = Object.keys(face.spots ?? {});
    if (spots.length === 0) continue;
    const found = form && (known.get(form) ?? platesIn(form, programs));
    if (form && found) known.set(form, found);
    for (const spot of spots.filter((one) => !found?.has(one))) {
      const { kit, piece } = placed.prepared.piece;
      const at = rectAt(onPage(sheet, placed, side), outlinesBounds(placed.prepared.reach));
      const what = `the artwork of place ${placed.number} (${kit}, ${piece}) paints nothing with the spot ink ${JSON.stringify(spot)}`;
      faults.push({ check: "print", what, at: { x: at.x + at.width / 2, y: at.y + at.height / 2 } });
    }
  }
  for (const { outlines, ink } of side === "back" ? (sheet.back?.inks ?? []) : sheet.inks) {
    if (ink.space !== "spot") continue;
    const wanted = boundsOfData(outlines);
    const there = items.some(({ plate, box }) => {
      if (plate?.name !== ink.name || Math.abs(plate.tint - ink.tint) > TINT) return false;
      // Bounds of data have 0.3 mm around them.
      const [x, y] = [box.x - 300 - wanted.x, box.y - 300 - wanted.y];
      return [x, y, x + box.width + 600 - wanted.width, y + box.height + 600 - wanted.height].every(
        (by) => Math.abs(by) <= OFF,
      );
    });
    if (there) continue;
    const at = { x: wanted.x + wanted.width / 2, y: wanted.y + wanted.height / 2 };
    faults.push({
      check: "print",
      what: `a patch of the spot ink ${JSON.stringify(ink.name)} is not printed with it`,
      at,
    });
  }
  return faults;
};

/** Inks that a form, and all that it draws, paints with; a tint of nothing is not painted. */
const platesIn = (
  stream: PDFRawStream,
  programs: ReadonlyMap<PDFRawStream, Program>,
  met = new Set<PDFObject>(),
): Set<string> => {
  const plates = new Set<string>();
  if (met.has(stream)) return plates;
  met.add(stream);
  const add = (names: Iterable<string>): void => {
    for (const one of names) plates.add(one);
  };
  // A picture's own colour space.
  if (nameAt(stream.dict, "Subtype") === "/Image") add(plateNames(stream.dict.lookup(name("ColorSpace"))));
  const program = programs.get(stream);
  const called = (table: string, key: unknown): PDFObject | undefined =>
    dictAt(program?.resources, table)?.lookup(name(String(key).slice(1)));
  const shaded = (shading: PDFObject | undefined): void => {
    const dict = shading instanceof PDFRawStream ? shading.dict : shading;
    if (dict instanceof PDFDict) add(plateNames(dict.lookup(name("ColorSpace"))));
  };
  let [fill, stroke]: [string[], string[]] = [[], []];
  for (const { operator, operands } of program?.operations ?? []) {
    const last = operands.at(-1);
    if (operator === "cs") fill = plateNames(called("ColorSpace", last));
    else if (operator === "CS") stroke = plateNames(called("ColorSpace", last));
    else if (/^(?:g|rg|k)$/.test(operator)) fill = [];
    else if (/^(?:G|RG|K)$/.test(operator)) stroke = [];
    else if (operator === "sh") shaded(called("Shading", last));
    else if (operator === "Do") {
      const drawn = called("XObject", last);
      if (drawn instanceof PDFRawStream) add(platesIn(drawn, programs, met));
    } else if (/^(?:sc|scn|SC|SCN)$/.test(operator)) {
      const inks = operator.startsWith("s") ? fill : stroke;
      // Of several inks each has a tint of its own.
      add(inks.filter((_, i) => typeof operands[i] === "number" && operands[i] > 0));
      if (typeof last !== "string" || !last.startsWith("/")) continue;
      const pattern = called("Pattern", last);
      if (pattern instanceof PDFRawStream) add(platesIn(pattern, programs, met));
      else if (pattern instanceof PDFDict) shaded(pattern.lookup(name("Shading")));
    }
  }
  return plates;
};
