import { type Finding, type Piece, type Press, say, type Shop } from "@kitforme/kit";
import {
  BleedCache,
  type Ink,
  inkOf,
  type Prepared,
  type PreparedPiece,
  prepare,
  type SetText,
  setText,
} from "@kitforme/prepress";
import type { Article } from "./demands-of.ts";
import { inLanes } from "./lanes.ts";
import { checkpoint, type Watch } from "./watch.ts";

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
/** Bleed maps of this process, bounded by bytes: the next job with the same contour finds its map made. */
const MAPS = new BleedCache();
/** Articles between two looks at the signal. */
const STEP = 200;

export const nameOf = (piece: Piece): string => `${piece.kit}/${piece.piece}`;

/** Pieces made ready for the press of their stock, in their order; two at a time, equal shapes with one bleed map. */
export const preparePieces = (
  pieces: readonly Piece[],
  shop: Shop,
  watch: Watch,
): Promise<Prepared<PreparedPiece>[]> => {
  let done = 0;
  return inLanes(pieces, 2, async (piece) => {
    await checkpoint(watch, { phase: "prepare", done, of: pieces.length, what: nameOf(piece) });
    const prepared = await prepare(piece, shop.stocks[piece.stock]?.press ?? null, { cache: MAPS });
    done++;
    return prepared;
  });
};

/** The words of every article set into their slots, in the inks of the press. */
export const setTexts = async (
  articles: readonly Article[],
  shop: Shop,
  watch: Watch,
): Promise<Pick<Ready, "texts" | "findings">> => {
  const texts = new Map<string, readonly SetText[]>();
  const worded = articles.filter(({ wording }) => Object.keys(wording).length > 0).length;
  if (worded > MOST_WORDED) return { texts, findings: [say("job-too-large", {}, { worded, most: MOST_WORDED })] };
  const findings: Finding[] = [];
  // A colour management engine starts anew with every call, 13 ms each: a hundred names in one colour are one call.
  const inks = new Map<string, Promise<Ink>>();
  const mixed = (colour: string, press: Press): Promise<Ink> => {
    const key = `${colour} ${press.colour}`;
    const ink = inks.get(key) ?? inkOf(colour, press);
    inks.set(key, ink);
    return ink;
  };
  for (const [i, { id, piece, wording, wanted }] of articles.entries()) {
    if (i % STEP === 0) await checkpoint(watch, { phase: "prepare", done: i, of: articles.length, what: "texts" });
    const press = shop.stocks[piece.stock]?.press;
    const set: SetText[] = [];
    for (const slot of piece.slots) {
      const text = wording[slot.slot];
      if (text === undefined || !press) continue;
      const ink = await mixed(slot.colour, press);
      const answer = await setText(slot, text, piece, ink);
      // The words belong to orders: say whose, so that the shop can ask the right buyer.
      const orders = [...new Set(wanted.map((w) => w.order))];
      for (const finding of answer.findings)
        if (ABOUT_FONTS.test(finding.rule)) findings.push(finding);
        else for (const order of orders) findings.push({ ...finding, where: { order, ...finding.where } });
      if (answer.value) set.push(answer.value);
    }
    texts.set(id, set);
  }
  return { texts, findings };
};

/** Pieces and words made ready for the press of their stock: every piece once, however many orders want it. */
export const prepareAll = async (articles: readonly Article[], shop: Shop, watch: Watch): Promise<Ready> => {
  const pieces = new Map<string, PreparedPiece>();
  const findings: Finding[] = [];
  const distinct = [...new Map(articles.map(({ piece }) => [nameOf(piece), piece]))]
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([, piece]) => piece);
  for (const [i, prepared] of (await preparePieces(distinct, shop, watch)).entries()) {
    findings.push(...prepared.findings);
    if (prepared.value) pieces.set(nameOf(distinct[i] as Piece), prepared.value);
  }
  const set = await setTexts(articles, shop, watch);
  return { pieces, texts: set.texts, findings: [...findings, ...set.findings] };
};
