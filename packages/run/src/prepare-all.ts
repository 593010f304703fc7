import { type Finding, type Piece, type Press, say, type Shop } from "@kitforme/kit";
import { type Ink, inkOf, type Prepared, type PreparedPiece, type SetText } from "@kitforme/prepress";
import type { Article } from "./demands-of.ts";
import { inLanes } from "./lanes.ts";
import type { TextWanted } from "./outside/tasks.ts";
import { checkpoint, type Work } from "./watch.ts";

export interface Ready {
  /** By `nameOf(piece)`. */
  readonly pieces: ReadonlyMap<string, PreparedPiece>;
  /** Texts of every article, by its id, in the order of the piece's slots. */
  readonly texts: ReadonlyMap<string, readonly SetText[]>;
  readonly findings: readonly Finding[];
}

/**
 * Pieces with words of their own that one job may have. Each is a text to set (some 3 ms) and a place on a sheet that nobody
 * shares: 20,000 are a minute before the first sheet and a thousand print files; 100,000 were ten minutes without a word.
 */
const MOST_WORDED = 20_000;
/** A font is the kit's, whoever orders it: told once. */
const ABOUT_FONTS = /^font-/;
/** Texts set in one go: the signal is looked at between two. */
const STEP = 200;
/** Pieces, or lots of texts, in hand at once: one for each opening process. */
export const LANES = 2;

export const nameOf = (piece: Piece): string => `${piece.kit}/${piece.piece}`;

/**
 * Pieces made ready for the press of their stock, in their order; two at a time, each in a process of its own.
 * @param keep whether their pictures are wanted, or only what is found
 */
export const preparePieces = (
  pieces: readonly Piece[],
  shop: Shop,
  keep: boolean,
  work: Work,
): Promise<Prepared<PreparedPiece>[]> => {
  let done = 0;
  return inLanes(pieces, LANES, async (piece) => {
    await checkpoint(work, { phase: "prepare", done, of: pieces.length, what: nameOf(piece) });
    const press = shop.stocks[piece.stock]?.press ?? null;
    const prepared = await work.openers.prepare(piece, press, keep, work.signal);
    done++;
    return prepared;
  });
};

/** The words of every article set into their slots, in the inks of the press. */
export const setTexts = async (
  articles: readonly Article[],
  shop: Shop,
  work: Work,
): Promise<Pick<Ready, "texts" | "findings">> => {
  const worded = articles.filter(({ wording }) => Object.keys(wording).length > 0).length;
  if (worded > MOST_WORDED)
    return { texts: new Map(), findings: [say("job-too-large", {}, { worded, most: MOST_WORDED })] };
  // A colour management engine starts anew with every call, 13 ms each: a hundred names in one colour are one call.
  const inks = new Map<string, Promise<Ink>>();
  const mixed = (colour: string, press: Press): Promise<Ink> => {
    const key = `${colour} ${press.colour}`;
    const ink = inks.get(key) ?? inkOf(colour, press);
    inks.set(key, ink);
    return ink;
  };
  const byPiece = new Map<Piece, (TextWanted & { readonly article: Article })[]>();
  for (const article of articles) {
    const { piece, wording } = article;
    const press = shop.stocks[piece.stock]?.press;
    if (!press) continue;
    const wanted = byPiece.get(piece) ?? [];
    byPiece.set(piece, wanted);
    for (const [slot, { slot: name, colour }] of piece.slots.entries()) {
      const text = wording[name];
      if (text !== undefined) wanted.push({ slot, text, ink: await mixed(colour, press), article });
    }
  }
  const lots = [...byPiece].flatMap(([piece, wanted]) =>
    Array.from({ length: Math.ceil(wanted.length / STEP) }, (_, i) => ({
      piece,
      wanted: wanted.slice(i * STEP, (i + 1) * STEP),
    })),
  );
  let done = 0;
  const of = lots.reduce((sum, { wanted }) => sum + wanted.length, 0);
  const set = await inLanes(lots, LANES, async ({ piece, wanted }) => {
    await checkpoint(work, { phase: "prepare", done, of, what: "texts" });
    const asked = wanted.map(({ slot, text, ink }) => ({ slot, text, ink }));
    const answers = await work.openers.setTexts(piece, asked, work.signal);
    done += wanted.length;
    return answers;
  });
  const texts = new Map<string, SetText[]>(articles.map(({ id }) => [id, []]));
  const findings: Finding[] = [];
  for (const [i, { wanted }] of lots.entries())
    for (const [k, { article }] of wanted.entries()) {
      const answer = set[i]?.[k];
      // The words belong to orders: say whose, so that the shop can ask the right buyer.
      const orders = [...new Set(article.wanted.map((w) => w.order))];
      for (const finding of answer?.findings ?? [])
        if (ABOUT_FONTS.test(finding.rule)) findings.push(finding);
        else for (const order of orders) findings.push({ ...finding, where: { order, ...finding.where } });
      if (answer?.value) texts.get(article.id)?.push(answer.value);
    }
  return { texts, findings };
};

/** Pieces and words made ready for the press of their stock: every piece once, however many orders want it. */
export const prepareAll = async (articles: readonly Article[], shop: Shop, work: Work): Promise<Ready> => {
  const pieces = new Map<string, PreparedPiece>();
  const findings: Finding[] = [];
  const distinct = [...new Map(articles.map(({ piece }) => [nameOf(piece), piece]))]
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([, piece]) => piece);
  for (const [i, prepared] of (await preparePieces(distinct, shop, true, work)).entries()) {
    findings.push(...prepared.findings);
    if (prepared.value) pieces.set(nameOf(distinct[i] as Piece), prepared.value);
  }
  const set = await setTexts(articles, shop, work);
  return { pieces, texts: set.texts, findings: [...findings, ...set.findings] };
};
