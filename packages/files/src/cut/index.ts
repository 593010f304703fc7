import type { CutFormat } from "@kitforme/kit";
import { CutBodies } from "./bodies.ts";
import type { CutSheet } from "./cut-sheet.ts";
import { writeDxf } from "./dxf.ts";
import { writeHpgl } from "./hpgl.ts";
import { writeCutPdf } from "./pdf.ts";
import { writeSvg } from "./svg.ts";

export { CutBodies } from "./bodies.ts";
export type { CutSheet } from "./cut-sheet.ts";
export { readCut } from "./read-cut.ts";

/** A new cut format is one file beside this one and one row here. */
const WRITERS: Readonly<Record<CutFormat, (sheet: CutSheet, bodies: CutBodies) => Uint8Array | Promise<Uint8Array>>> = {
  svg: writeSvg,
  dxf: writeDxf,
  hpgl: writeHpgl,
  pdf: writeCutPdf,
};

/**
 * The cut file of a sheet in one of the cutter's formats.
 *
 * @param bodies of sheets before it: the bytes are the same, and less work where it is cut like one of them
 */
export const writeCut = async (
  sheet: CutSheet,
  format: CutFormat,
  bodies: CutBodies = new CutBodies(),
): Promise<Uint8Array> => WRITERS[format](sheet, bodies);
