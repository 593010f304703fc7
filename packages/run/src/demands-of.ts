import type { Kit, Order, Piece, Slot, Wording } from "@kitforme/kit";

/** Numbers `first` to `last` of one piece in one order, from 1. */
export interface Numbers {
  readonly order: string;
  readonly first: number;
  readonly last: number;
}

/** One piece with one wording, wanted so many times, and by whom: what a placement on a sheet makes. */
export interface Article {
  readonly id: string;
  readonly piece: Piece;
  /** Only the slots of this piece that carry words. */
  readonly wording: Wording;
  readonly copies: number;
  readonly wanted: readonly Numbers[];
  /** Copies of order lines that ask for it, neighbours together: `first` and `last` count from 1 within the line. */
  readonly asked: readonly {
    readonly order: string;
    readonly line: number;
    readonly first: number;
    readonly last: number;
  }[];
}

/** The words of a copy that this piece shows; a blank text prints nothing and is no wording. */
const wordingOf = (piece: Piece, texts: Wording | undefined, copy: number): Wording => {
  const words: Record<string, Wording[string]> = {};
  for (const slot of piece.slots) {
    const said = countOf(slot, copy) ?? texts?.[slot.slot];
    if (said !== undefined && (typeof said !== "string" || said.trim() !== "")) words[slot.slot] = said;
  }
  return words;
};

/** The running number that a slot prints on a copy (counted over the order's lines of the kit, from 1). */
const countOf = (slot: Slot, copy: number): string | undefined =>
  slot.kind === "text" && slot.count ? String(slot.count.from + copy - 1).padStart(slot.count.digits, "0") : undefined;

/**
 * Orders to articles. The pieces of kit copy c (counted over the order's lines of that kit, from 1) carry the numbers
 * (c - 1) * perKit + 1 to c * perKit; equal pieces with equal words are one article whoever ordered them.
 * Orders are taken by due date, then name: numbers are dealt in that sequence, and of equally good sheets the early ones get the first.
 */
export const articlesOf = (orders: readonly Order[], kits: ReadonlyMap<string, Kit>): Article[] => {
  const articles = new Map<
    string,
    { piece: Piece; wording: Wording; copies: number; wanted: Numbers[]; asked: Article["asked"][number][] }
  >();
  const byDue = [...orders].sort((a, b) => compare(a.due ?? "9999", b.due ?? "9999") || compare(a.order, b.order));
  for (const { order, lines } of byDue) {
    const copiesSoFar = new Map<string, number>();
    for (const [l, line] of lines.entries()) {
      const kit = kits.get(line.kit);
      if (!kit) throw new Error(`order ${order} was let through with the unknown kit ${line.kit}`);
      const before = copiesSoFar.get(line.kit) ?? 0;
      copiesSoFar.set(line.kit, before + line.quantity);
      for (const piece of kit.pieces)
        for (const { texts, from, to } of stretches(piece, line.texts, line.quantity, before)) {
          const id = JSON.stringify([piece.kit, piece.piece, texts]);
          const article = articles.get(id) ?? { piece, wording: texts, copies: 0, wanted: [], asked: [] };
          articles.set(id, article);
          article.asked.push({ order, line: l + 1, first: from + 1, last: to });
          article.copies += (to - from) * piece.perKit;
          const first = (before + from) * piece.perKit + 1;
          const last = (before + to) * piece.perKit;
          const tail = article.wanted.at(-1);
          if (tail && tail.order === order && tail.last + 1 === first)
            article.wanted[article.wanted.length - 1] = { ...tail, last };
          else article.wanted.push({ order, first, last });
        }
    }
  }
  return [...articles].map(([id, article]) => ({ id, ...article }));
};

/** Neighbouring copies with the same words, as half-open ranges of copies from 0. */
const stretches = (piece: Piece, texts: readonly Wording[] | undefined, quantity: number, before: number) => {
  const counts = piece.slots.some((slot) => slot.kind === "text" && slot.count);
  if ((!texts && !counts) || piece.slots.length === 0) return [{ texts: {} as Wording, from: 0, to: quantity }];
  const found: { texts: Wording; from: number; to: number }[] = [];
  for (let copy = 0; copy < quantity; copy++) {
    const words = wordingOf(piece, texts?.[copy], before + copy + 1);
    const tail = found.at(-1);
    if (tail && JSON.stringify(tail.texts) === JSON.stringify(words)) tail.to = copy + 1;
    else found.push({ texts: words, from: copy, to: copy + 1 });
  }
  return found;
};

const compare = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0);
