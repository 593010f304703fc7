import { area, mm } from "@kitforme/geometry";
import { bleedOn, type Finding, type Piece, type Stock, withinMargins } from "@kitforme/kit";
import { type Options as Watched, withOpeners } from "./outside/with-openers.ts";
import { type Input, type Read, readAll, UNNAMED } from "./read-all.ts";
import { sortFindings } from "./sort-findings.ts";
import type { KitStore } from "./world.ts";

/** Part of a sheet's field that pieces with their bleed and clearance fill as a rule (common practice, no source). */
const USUAL_YIELD = 0.8;

/** What orders would take. */
export interface Weighed {
  /** Of the form, the kits and the texts; artwork is not opened. */
  readonly findings: readonly Finding[];
  /** By order: how many sheets of each stock its pieces take by their area, fractions included. An estimate. */
  readonly sheets: ReadonlyMap<string, Readonly<Record<string, number>>>;
}

/** See `weigh` of the front door. */
export const weigh = (input: Input, kits: KitStore, options: Watched = {}): Promise<Weighed> =>
  withOpeners(options, async (work) => weighed(await readAll(input, kits, { effort: UNNAMED }, work)));

const weighed = (read: Read): Weighed => {
  const sheets = new Map<string, Record<string, number>>();
  const shop = read.shop;
  if (!shop) return { findings: sortFindings(read.findings), sheets };
  const taken = new Map<Piece, number>();
  for (const { order, lines } of read.orders) {
    const own: Record<string, number> = {};
    for (const line of lines)
      for (const piece of read.kits.get(line.kit)?.pieces ?? []) {
        const stock = shop.stocks[piece.stock];
        if (!stock) continue;
        const sheetsOfOne = taken.get(piece) ?? sheetsTaken(piece, stock);
        taken.set(piece, sheetsOfOne);
        own[piece.stock] = (own[piece.stock] ?? 0) + sheetsOfOne * piece.perKit * line.quantity;
      }
    sheets.set(order, own);
  }
  return { findings: sortFindings(read.findings), sheets };
};

/** Sheets that one such piece takes: a fraction. */
const sheetsTaken = (piece: Piece, stock: Stock): number => {
  const size = stock.sheets[0];
  if (!size) return 0;
  const { print, cut } = withinMargins(stock, size);
  const field = stock.press ? print : cut;
  const around = bleedOn(piece, stock) + stock.cutter.clearance / 2;
  const taken = piece.parts.reduce((sum, { outer }) => {
    // The outline grown by half of what must stay free around it: its area, a strip along its edge, and the corners.
    const edge = outer.reduce((length, p, i) => {
      const q = outer[(i + 1) % outer.length] ?? p;
      return length + Math.hypot(q.x - p.x, q.y - p.y);
    }, 0);
    return sum + Math.abs(area(outer)) + edge * around + Math.PI * around ** 2;
  }, 0);
  return taken / Math.max(field.width * field.height * USUAL_YIELD, mm(1));
};
