import { growOnce } from "@kitforme/geometry";
import { type Finding, hasErrors, type Piece, type Shop } from "@kitforme/kit";
import type { Effort } from "@kitforme/layout";
import type { PreparedPiece } from "@kitforme/prepress";
import type { Sheet } from "@kitforme/sheet";
import type { Article } from "./demands-of.ts";
import { gangAll } from "./gang-all.ts";
import { imposeAll } from "./impose-all.ts";
import { nameOf, type Ready } from "./ready.ts";
import type { Commission } from "./read-all.ts";
import type { Watch } from "./watch.ts";

/**
 * The sheets of a job by the outlines of its pieces and the room that their bleed takes, laid as `run` lays them: nothing is opened,
 * printed or written.
 * @param proven whether every forme and every sheet is proven valid, as `run` does, a breach throws; else the sheets are for counting
 *   and measuring alone, without slug and code unless they are weighed
 * @param weighed what lies on the pieces, where that is wanted too
 */
export const layOut = async (
  articles: readonly Article[],
  { shop, job, orders }: Pick<Commission, "shop" | "job" | "orders">,
  settings: { readonly effort: Effort; readonly threads: number },
  watch: Watch,
  proven: boolean,
  weighed?: Ready,
): Promise<{ readonly sheets?: readonly Sheet[]; readonly findings: readonly Finding[] }> => {
  const pieces = new Map(
    articles.map(({ piece }) => [
      nameOf(piece),
      { ...outlined(piece, shop), ...inkOf(weighed?.pieces.get(nameOf(piece))) },
    ]),
  );
  const { texts, pictures } = weighed ?? { texts: new Map(), pictures: new Map() };
  const ready = { pieces, texts, pictures, findings: [] };
  const { plans, findings } = await gangAll(articles, ready, shop, settings, watch);
  if (hasErrors(findings)) return { findings };
  // Nothing is written: of this step only the signal is wanted.
  const { signal } = watch;
  return {
    sheets: await imposeAll(job, plans, ready, signal ? { signal } : {}, {
      proven,
      lettered: proven || weighed !== undefined,
      orders,
    }),
    findings,
  };
};

/** What lies on both sides of a piece that was weighed. */
const inkOf = ({ ink, back }: Partial<PreparedPiece> = {}): Partial<PreparedPiece> => ({
  ...(ink ? { ink } : {}),
  ...(back ? { back } : {}),
});

/** A piece by its outlines and the room that its bleed will take. */
const outlined = (piece: Piece, shop: Shop): PreparedPiece => {
  const press = shop.stocks[piece.stock]?.press;
  const reach =
    press && (piece.artwork ?? piece.back?.artwork) ? growOnce(piece.parts, piece.bleed ?? press.bleed) : piece.parts;
  return { piece, reach, layers: [], bleed: null };
};
