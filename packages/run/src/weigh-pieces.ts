import { type Finding, hasErrors, type Piece, type Shop } from "@kitforme/kit";
import type { Prepared, PreparedPiece } from "@kitforme/prepress";
import type { Article } from "./demands-of.ts";
import { distinctPieces, preparePieces, setSlots } from "./prepare-all.ts";
import { nameOf, type Ready } from "./ready.ts";
import type { BuyersPictures } from "./read-pictures.ts";
import type { Work } from "./watch.ts";

/**
 * Dots to the inch at which artwork is drawn to weigh its ink: the plates of a piece are within 1 % of those at 300, in a third of the
 * time; from 72 down a bleed of the designer's own is no longer seen for what it is.
 */
const DRAWN = 100;

/**
 * The ink of every piece, and its words, codes and pictures in their slots: what a sheet's ink is summed from, without what it is
 * printed from. Artwork that seems at fault so small is looked at again as it prints, so that findings are those of a job.
 */
export const weighPieces = async (
  articles: readonly Article[],
  shop: Shop,
  buyers: BuyersPictures,
  work: Work,
): Promise<Ready> => {
  const pieces = new Map<string, PreparedPiece>();
  const findings: Finding[] = [];
  const distinct = distinctPieces(articles);
  const weighed = await preparePieces(distinct, coarse(shop), "ink", work);
  const doubtful = distinct.filter((_, i) => hasErrors(weighed[i]?.findings ?? []));
  const again = new Map<Piece, Prepared<PreparedPiece>>(
    (await preparePieces(doubtful, shop, "ink", work)).map((prepared, i) => [doubtful[i] as Piece, prepared]),
  );
  for (const [i, piece] of distinct.entries()) {
    const { value, findings: met = [] } = again.get(piece) ?? weighed[i] ?? {};
    // Notes and warnings are those of `check`: of the resolution that it prints at.
    findings.push(...met.filter(({ level }) => level === "error"));
    if (value) pieces.set(nameOf(piece), value);
  }
  const set = await setSlots(articles, shop, buyers, work);
  return { ...set, pieces, findings: [...findings, ...set.findings.filter(({ level }) => level === "error")] };
};

/** The shop with presses that print no finer than what is drawn here. */
const coarse = (shop: Shop): Shop => ({
  ...shop,
  stocks: Object.fromEntries(
    Object.entries(shop.stocks).map(([name, stock]) => {
      const { press } = stock;
      return [name, press ? { ...stock, press: { ...press, resolution: Math.min(DRAWN, press.resolution) } } : stock];
    }),
  ),
});
