// Sheets with their written files, for tests of their proof.
import { writeCut, writePrint } from "@kitforme/files";
import { mm } from "@kitforme/geometry";
import { outputProfile, type PreparedPiece, type SetText } from "@kitforme/prepress";
import { impose, type Sheet } from "@kitforme/sheet";
import { formeOf } from "../sheet/make.ts";
import { painted, press, stock, wall } from "./sheets.ts";

const FORMATS = ["svg", "dxf", "pdf", "hpgl"] as const;
const profile = outputProfile(press());

/** Pieces at their places as a sheet of 210 x 150 mm, unless said otherwise. */
export const made = async (
  pieces: readonly {
    readonly prepared: PreparedPiece;
    readonly turn?: number;
    readonly at: readonly [number, number];
    readonly texts?: readonly SetText[];
  }[],
  more: Parameters<typeof formeOf>[1] = {},
): Promise<Sheet> => {
  const forme = formeOf(pieces, { width: mm(210), height: mm(150), ...more });
  const worded = forme.pieces.map((p, i) => ({ ...p, texts: pieces[i]?.texts ?? [] }));
  return impose({ ...forme, pieces: worded }, "2f81c0de", stock(), ["HL-2041"]);
};

/** Print PDF and all cut files. */
export const written = async (sheet: Sheet): Promise<{ print: Uint8Array; cuts: Record<string, Uint8Array> }> => ({
  print: await writePrint(sheet, { title: "Harbour", profile }),
  cuts: Object.fromEntries(await Promise.all(FORMATS.map(async (f) => [f, await writeCut(sheet, f)] as const))),
});

/** The wall with a picture of so many pixels an inch, painted by millimetres from the picture's corner. */
export const pictured = (
  id: string,
  ppi: number,
  paint: (x: number, y: number) => readonly number[],
  base: PreparedPiece = wall(),
): PreparedPiece => {
  const [first] = base.layers;
  if (first?.kind !== "raster") throw new Error("a wall without a picture");
  const size = [Math.round((first.box.width / 25_400) * ppi), Math.round((first.box.height / 25_400) * ppi)] as const;
  const raster = painted(id, "cmyk", size, (x, y) => paint((x / ppi) * 25.4, (y / ppi) * 25.4));
  return { ...base, layers: [{ ...first, raster }] };
};

/** The same with that picture on its back too, a sheet's pixels for the one. */
export const backed = (front: PreparedPiece, back: PreparedPiece): PreparedPiece => ({
  ...front,
  piece: { ...front.piece, back: { artwork: null } },
  back: { layers: back.layers, bleed: back.bleed },
});

/** Squares of 5 mm on a sky. */
export const house: PreparedPiece = pictured("sky", 150, (x, y) => [
  Math.min(255, 60 + x * 3),
  40 + y * 2,
  ((Math.floor(x / 5) + Math.floor(y / 5)) % 2) * 80,
  0,
]);
