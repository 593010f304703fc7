import { type Caution, cautionsForPieces } from "@kitforme/files";
import { type Finding, say, type Shop } from "@kitforme/kit";
import { packOne } from "@kitforme/layout";
import { checkFonts, type PreparedPiece } from "@kitforme/prepress";
import { fieldOf } from "@kitforme/sheet";
import { articlesOf } from "./demands-of.ts";
import { footprintOf } from "./footprint-of.ts";
import { preparePieces, setTexts } from "./prepare-all.ts";
import { type Input, type Read, readAll } from "./read-all.ts";
import { sortFindings } from "./sort-findings.ts";
import { tooManySheets } from "./too-many-sheets.ts";
import type { Watch } from "./watch.ts";
import type { KitStore } from "./world.ts";

/** What is to be checked: orders with the kits they name, and kits by their folders, which need not be on the store's shelf. */
export interface ToCheck extends Input {
  readonly folders?: readonly string[];
}

export interface Checked {
  readonly findings: readonly Finding[];
  /** What can hurt those who make these pieces, and those who get them. */
  readonly cautions: readonly Caution[];
}

/** Every finding about orders and kits, pictures and texts included; nothing is laid out or written. */
export const check = async (input: ToCheck, kits: KitStore, watch: Watch = {}): Promise<Checked> => {
  const read = await readAll(input, kits, { effort: "none", also: input.folders ?? [] }, watch);
  const { shop } = read;
  return {
    findings: await lookOver(read, watch),
    cautions: shop
      ? cautionsForPieces(read.pieces.map((piece) => ({ piece, printed: shop.stocks[piece.stock]?.press != null })))
      : [],
  };
};

/** The findings of reading, and those about the pictures and texts of whatever could be read. */
export const lookOver = async (
  { shop, pieces, orders, kits, findings }: Read,
  watch: Watch,
): Promise<readonly Finding[]> => {
  if (!shop) return sortFindings(findings);
  const prepared = await preparePieces(pieces, shop, watch);
  const fonts: Finding[] = [];
  for (const piece of pieces) fonts.push(...(await checkFonts(piece)));
  const articles = articlesOf(orders, kits);
  const words = await setTexts(articles, shop, watch);
  const ready = prepared.flatMap(({ value }) => (value ? [value] : []));
  return sortFindings([
    ...findings,
    ...prepared.flatMap((p) => p.findings),
    ...fonts,
    ...words.findings,
    ...tooManySheets(articles, shop),
    ...obstructed(ready, shop),
  ]);
};

/** Pieces that fit between the margins of a sheet, but for which marks, code and slug leave no place. */
export const obstructed = (pieces: Iterable<PreparedPiece>, shop: Shop): Finding[] =>
  [...pieces].flatMap((prepared) => {
    const { kit, piece, stock: name } = prepared.piece;
    const stock = shop.stocks[name];
    if (!stock) return [];
    const footprints = [footprintOf(prepared)];
    const lies = stock.sheets.some(
      (size) => packOne(footprints, fieldOf(stock, size), [{ footprint: 0, key: 0 }], "quick", 1) !== null,
    );
    return lies ? [] : [say("piece-obstructed", { kit, piece, stock: name }, { stock: name })];
  });
