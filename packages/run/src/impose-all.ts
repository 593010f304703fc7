import type { Order } from "@kitforme/kit";
import { type Forme, verifyForme } from "@kitforme/layout";
import { bothSides, impose, SameCuts, type Sheet, verifySheet } from "@kitforme/sheet";
import type { Article } from "./demands-of.ts";
import type { StockPlan } from "./gang-all.ts";
import { nameOf, type Ready } from "./ready.ts";
import { numbersOf } from "./numbers-of.ts";
import { checkpoint, type Watch, type Work } from "./watch.ts";

/**
 * Formes to finished sheets. Every forme and every sheet is proven valid before the first file is written; a breach throws.
 * @param orders the slug has the first day that one of a sheet's is due
 * @param proven `false` leaves the proofs out, for an estimate: of it nothing is made, and `run` proves the same sheets
 * @param lettered `false` leaves slug and code out, where nobody looks at the sheet's inks
 */
export const imposeAll = async (
  job: string,
  plans: readonly StockPlan[],
  ready: Ready,
  watch: Watch & Partial<Pick<Work, "openers">>,
  {
    proven = true,
    lettered = true,
    orders,
  }: { readonly proven?: boolean; readonly lettered?: boolean; readonly orders: readonly Order[] },
): Promise<readonly Sheet[]> => {
  const of = plans.reduce((sum, { plan }) => sum + plan.formes.length, 0);
  const sheets: Sheet[] = [];
  const same = new SameCuts();
  const dueOf = new Map(orders.map(({ order, due }) => [order, due]));
  for (const { stock, turned, fields, footprints, articles, plan } of plans) {
    const firstOf = new Map<number, number>();
    const footprintOf = articles.map((a) => footprints.findIndex((f) => f.id === nameOf(a.piece)));
    const serves = numbersOf(plan.formes, articles);
    const verified = new Set<string>();
    const turnedStocks = new Map(turned ? fields.map((field) => [field, bothSides(stock, field)]) : []);
    for (const [i, forme] of plan.formes.entries()) {
      await checkpoint(watch, { phase: "write", done: 0, of, what: "proving the layouts" });
      const sheet = sheets.length + 1;
      const cutAs = firstOf.get(forme.geometry) ?? sheet;
      firstOf.set(forme.geometry, cutAs);
      const field = fields[forme.field];
      if (!field) throw new Error(`forme ${i} lies on a field that is not there`);
      const places = forme.placements.map(({ demand, turn, x, y }) => ({
        footprint: footprintOf[demand] as number,
        turn,
        x,
        y,
      }));
      // Shapes at places: formes that differ in the names on their pieces alone are one thing to prove.
      const key = JSON.stringify([forme.field, places]);
      if (proven && !verified.has(key)) verifyForme(places, footprints, field);
      verified.add(key);
      const placed = piecesOf(forme, articles, ready).map((piece, p) => ({ ...piece, serves: serves[i]?.[p] ?? [] }));
      const served = [...new Set(placed.flatMap((p) => p.serves.map((s) => s.order)))].sort();
      // Days written year first sort as days.
      const [due] = served.flatMap((order) => dueOf.get(order) ?? []).toSorted((a, b) => (a < b ? -1 : 1));
      const imposed = await impose(
        {
          sheet,
          of,
          run: forme.run,
          width: field.width,
          height: field.height,
          cutAs,
          pieces: placed,
          ...(due ? { due } : {}),
        },
        job,
        turnedStocks.get(field) ?? stock,
        served,
        same,
        lettered,
      );
      if (proven) verifySheet(imposed);
      sheets.push(watch.openers ? withoutWeight(imposed, watch.openers) : imposed);
    }
  }
  return sheets;
};

/** A sheet whose own code and slug lie in the temporary file until it is written; what the waste carries is the same on many sheets. */
const withoutWeight = (sheet: Sheet, openers: Work["openers"]): Sheet => {
  const light = (inks: Sheet["inks"]): Sheet["inks"] => inks.map((one) => (one.item ? one : openers.aside(one)));
  const { inks, back } = sheet;
  return { ...sheet, inks: light(inks), ...(back ? { back: { ...back, inks: light(back.inks) } } : {}) };
};

const piecesOf = (forme: Forme, articles: readonly Article[], ready: Ready) =>
  forme.placements.map(({ demand, turn, x, y }) => {
    const article = articles[demand];
    const prepared = article && ready.pieces.get(nameOf(article.piece));
    if (!article || !prepared) throw new Error(`a placement of demand ${demand}, which nobody prepared`);
    return {
      prepared,
      wording: article.wording,
      texts: ready.texts.get(article.id) ?? [],
      pictures: ready.pictures.get(article.id) ?? [],
      turn,
      e: x,
      f: y,
    };
  });
