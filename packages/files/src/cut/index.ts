import type { Cutter } from "@kitforme/kit";
import type { Sheet } from "@kitforme/sheet";
import { writeDxf } from "./dxf.ts";
import { writeHpgl } from "./hpgl.ts";
import { writeSvg } from "./svg.ts";

export type CutFormat = Cutter["formats"][number];

/** A new cut format is one file beside this one and one row here. */
const WRITERS: Readonly<Record<CutFormat, (sheet: Sheet) => Uint8Array>> = {
  svg: writeSvg,
  dxf: writeDxf,
  hpgl: writeHpgl,
};

/** The cut file of a sheet in one of the cutter's formats. */
export const writeCut = (sheet: Sheet, format: CutFormat): Uint8Array => WRITERS[format](sheet);
