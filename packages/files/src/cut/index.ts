import type { CutFormat } from "@kitforme/kit";
import type { CutSheet } from "./cut-sheet.ts";
import { writeDxf } from "./dxf.ts";
import { writeHpgl } from "./hpgl.ts";
import { writeCutPdf } from "./pdf.ts";
import { writeSvg } from "./svg.ts";

export type { CutSheet } from "./cut-sheet.ts";
export { readCut } from "./read-cut.ts";

/** A new cut format is one file beside this one and one row here. */
const WRITERS: Readonly<Record<CutFormat, (sheet: CutSheet) => Uint8Array | Promise<Uint8Array>>> = {
  svg: writeSvg,
  dxf: writeDxf,
  hpgl: writeHpgl,
  pdf: writeCutPdf,
};

/** The cut file of a sheet in one of the cutter's formats. */
export const writeCut = async (sheet: CutSheet, format: CutFormat): Promise<Uint8Array> => WRITERS[format](sheet);
