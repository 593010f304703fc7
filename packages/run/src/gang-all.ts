import { type Finding, type Shop, type Stock } from "@kitforme/kit";
import { type Effort, type Field, type Footprint, gang, type Plan } from "@kitforme/layout";
import { bothSides, fieldOf } from "@kitforme/sheet";
import { footprintOf } from "./footprint-of.ts";
import type { Article } from "./demands-of.ts";
import { sayObstructed } from "./obstructed.ts";
import { nameOf, type Ready } from "./ready.ts";
import { lendLayouts, type LentRequest, takeLayout } from "./spread/lend-layouts.ts";
import { shareOut } from "./spread/share-out.ts";
import type { Sharing } from "./spread/sharing.ts";
import type { Watch } from "./watch.ts";

/** The layouts of one stock. Placements of the formes count into `articles`. */
export interface StockPlan {
  readonly stock: Stock;
  /** A piece of it has a back: the sheets' margins are those of both sides. */
  readonly turned: boolean;
  readonly fields: readonly Field[];
  readonly footprints: readonly Footprint[];
  readonly articles: readonly Article[];
  readonly plan: Plan;
}

/** What is to be laid out of one stock. */
interface Wanted extends Omit<StockPlan, "plan"> {
  readonly request: LentRequest;
}

/** Gangs all articles, stock by stock (in the shop's order of names), whoever ordered them; others may search some of the stocks' layouts. */
export const gangAll = async (
  articles: readonly Article[],
  ready: Ready,
  shop: Shop,
  settings: { readonly effort: Effort; readonly threads: number; readonly sharing?: Sharing | undefined },
  watch: Watch,
): Promise<{ plans: readonly StockPlan[]; findings: readonly Finding[] }> => {
  const wanted: Wanted[] = [];
  for (const name of Object.keys(shop.stocks).sort()) {
    const stock = shop.stocks[name] as Stock;
    const own = articles.filter((a) => a.piece.stock === name);
    if (own.length === 0) continue;
    const pieces = [...new Set(own.map((a) => nameOf(a.piece)))];
    const footprints = pieces.map((piece) => {
      const prepared = ready.pieces.get(piece);
      if (!prepared) throw new Error(`${piece} was let through unprepared`);
      return footprintOf(prepared);
    });
    const turned = own.some(({ piece }) => piece.back);
    const fields = stock.sheets.map((size) => fieldOf(turned ? bothSides(stock, size) : stock, size));
    const request: LentRequest = {
      footprints,
      fields,
      demands: own.map((article) => ({
        id: article.id,
        footprint: pieces.indexOf(nameOf(article.piece)),
        copies: article.copies,
        personal: Object.keys(article.wording).length > 0,
        groups: groupsOf(article),
      })),
      setup: shop.setup,
      overs: shop.overs,
      effort: settings.effort,
    };
    wanted.push({ stock, turned, fields, footprints, articles: own, request });
  }
  const found = await layOutAll(wanted, settings, watch);
  const plans: StockPlan[] = [];
  const findings: Finding[] = [];
  for (const [i, { request: _request, ...rest }] of wanted.entries()) {
    const plan = found.get(i) as Plan;
    for (const { demand } of plan.leftovers) findings.push(sayObstructed((rest.articles[demand] as Article).piece));
    plans.push({ ...rest, plan });
  }
  return { plans, findings };
};

/** Searches the layouts, one after the other, or some of them by others. Returned by the numbers of the stocks in the list. */
const layOutAll = (
  wanted: readonly Wanted[],
  { threads, sharing }: { readonly threads: number; readonly sharing?: Sharing | undefined },
  watch: Watch,
): Promise<ReadonlyMap<number, Plan>> => {
  const requests = wanted.map(({ request }) => request);
  const say = (number: number, done: number, of: number, what = "") =>
    ({ phase: "gang", done, of, what: `${wanted[number]?.stock.title ?? ""}${what}` }) as const;
  return shareOut<Plan>(
    {
      stage: "layout",
      numbers: [...requests.keys()],
      lanes: 1,
      here: (number) =>
        gang({
          ...(requests[number] as LentRequest),
          threads,
          ...(watch.signal ? { signal: watch.signal } : {}),
          onProgress: ({ done, of, sheets, yield: used }) =>
            watch.onProgress?.(
              say(number, done, of, sheets > 0 ? `, ${sheets} sheets, yield ${(used * 100).toFixed(1)} %` : ""),
            ),
        }),
      async lay(folder, numbers) {
        await lendLayouts(folder, requests, numbers);
        return numbers;
      },
      adopt: (folder, _number, part) => takeLayout(folder, part),
      progress: (_done, number) => say(number, 0, 100),
    },
    sharing,
    watch,
  );
};

/** How many copies each order takes of an article. */
const groupsOf = ({ wanted }: Article): { group: string; copies: number }[] => {
  const copies = new Map<string, number>();
  for (const { order, first, last } of wanted) copies.set(order, (copies.get(order) ?? 0) + last - first + 1);
  return [...copies].map(([group, n]) => ({ group, copies: n }));
};
