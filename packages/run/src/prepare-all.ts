import { type Colour, type Finding, type Piece, type Press, say, type Shop } from "@kitforme/kit";
import {
  type Ink,
  inkOf,
  type Prepared,
  type PreparedPiece,
  safeOf,
  setCode,
  type SetPicture,
  type SetText,
} from "@kitforme/prepress";
import type { Article } from "./demands-of.ts";
import { inLanes } from "./lanes.ts";
import { nameOf, type Ready } from "./ready.ts";
import type { TextWanted, Want } from "./outside/tasks.ts";
import type { BuyersPictures } from "./read-pictures.ts";
import { lendPieces, takePrepared } from "./spread/lend-pieces.ts";
import { shareOut } from "./spread/share-out.ts";
import type { Spread } from "./spread/write-sheets.ts";
import { checkpoint, type Work } from "./watch.ts";

/**
 * Pieces with words of their own that one job may have. Each is a text to set (some 3 ms) and a place on a sheet that nobody
 * shares: 20,000 are a minute before the first sheet and a thousand print files; 100,000 were ten minutes without a word.
 */
const MOST_WORDED = 20_000;
/** A font is the kit's, whoever orders it: reported once. */
const ABOUT_FONTS = /^font-/;
/** Texts set in one go: the signal is looked at between two. */
const STEP = 200;
/** Pieces, or lots of texts, that are worth an opening process of their own: its start costs as much processor as three small pieces. */
const BUSY = 4;
/** Pieces, or lots of texts, in hand at once: one for each opening process. A job that keeps to one processor has one. */
export const lanesFor = (count: number, { lanes = 2 }: Spread = {}): number =>
  Math.min(lanes, count >= 2 * BUSY ? 2 : 1);

/**
 * Pieces made ready for the press of their stock, in their order; two at a time where they are many, each in a process of its own.
 * @param want their pictures, only what is found, or their ink; others prepare some only where pictures are wanted
 */
export const preparePieces = async (
  pieces: readonly Piece[],
  shop: Shop,
  want: Want,
  work: Work,
  spread: Spread = {},
): Promise<Prepared<PreparedPiece>[]> => {
  const pieceOf = (number: number): Piece => pieces[number] as Piece;
  const numbers = [...pieces.keys()];
  const { sharing } = spread;
  const prepared = await shareOut<Prepared<PreparedPiece>>(
    {
      stage: "piece",
      // Two jobs of the same pieces that are begun together meet in the middle, and find in the cache what the other has made.
      numbers: (sharing?.turn ?? 0) % 2 === 1 ? numbers.toReversed() : numbers,
      lanes: lanesFor(pieces.length, spread),
      here: (number) => {
        const piece = pieceOf(number);
        return work.openers.prepare(piece, shop.stocks[piece.stock]?.press ?? null, want, work.signal);
      },
      lay: (folder, rest) => lendPieces(folder, pieces, rest, shop, work.openers),
      adopt: (folder, number, part) => takePrepared(folder, part, pieceOf(number), work.openers),
      progress: (done, number) => ({
        phase: "prepare",
        done,
        of: pieces.length,
        what: nameOf(pieceOf(number)),
      }),
    },
    want === "all" ? sharing : undefined,
    work,
  );
  return numbers.map((number) => prepared.get(number) as Prepared<PreparedPiece>);
};

/** Inks by colour and press, mixed once: a colour management engine starts anew with every call, 13 ms each. */
export type Inks = Map<string, Promise<Ink>>;

/**
 * The words, codes and pictures of every article set into their slots, in the inks of the press.
 * @param inks those mixed before, where a caller keeps them
 */
export const setSlots = async (
  articles: readonly Article[],
  shop: Shop,
  buyers: BuyersPictures,
  work: Work,
  inks: Inks = new Map(),
  spread: Spread = {},
): Promise<Omit<Ready, "pieces">> => {
  const worded = articles.filter(({ wording }) => Object.keys(wording).length > 0).length;
  if (worded > MOST_WORDED)
    return {
      texts: new Map(),
      pictures: new Map(),
      findings: [say("job-too-large", {}, { worded, most: MOST_WORDED })],
    };
  const set = await setTexts(articles, shop, work, inks, spread);
  const pictures = new Map<string, readonly SetPicture[]>();
  const texts = new Map<string, readonly SetText[]>();
  const findings: Finding[] = [];
  for (const [i, article] of articles.entries()) {
    if (i % STEP === 0) await checkpoint(work, { phase: "prepare", done: i, of: articles.length, what: "texts" });
    const own = set.get(article.id) ?? new Map<number, Prepared<SetText>>();
    const others = await setOthers(article, shop.stocks[article.piece.stock]?.press ?? null, buyers, work);
    const answers = article.piece.slots.map((_, k) => own.get(k) ?? others.codes.get(k));
    texts.set(
      article.id,
      answers.flatMap((answer) => (answer?.value ? [answer.value] : [])),
    );
    if (others.pictures.length > 0) pictures.set(article.id, others.pictures);
    const met = [...answers.flatMap((answer) => answer?.findings ?? []), ...others.findings];
    findings.push(...met.flatMap((finding) => atCopies(finding, article)));
  }
  return { texts, pictures, findings };
};

/** Texts of every article, by its id and the number of their slot. */
const setTexts = async (
  articles: readonly Article[],
  shop: Shop,
  work: Work,
  inks: Inks,
  spread: Spread,
): Promise<ReadonlyMap<string, ReadonlyMap<number, Prepared<SetText>>>> => {
  const mixed = (colour: Colour, press: Press): Promise<Ink> => {
    const key = JSON.stringify([colour, press.name]);
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
    for (const [slot, asked] of piece.slots.entries()) {
      const text = wording[asked.slot];
      if (asked.kind !== "text" || typeof text !== "string") continue;
      const ink = await mixed(asked.colour, press);
      const outline = asked.outline && (await mixed(asked.outline.colour, press));
      const safe = asked.side ? { safe: safeOf(asked, press) } : {};
      wanted.push({ slot, text, inks: { ink, ...(outline ? { outline } : {}) }, ...safe, article });
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
  const set = await inLanes(lots, lanesFor(lots.length, spread), async ({ piece, wanted }) => {
    await checkpoint(work, { phase: "prepare", done, of, what: "texts" });
    const asked = wanted.map(({ article: _article, ...one }) => one);
    const answers = await work.openers.setTexts(piece, asked, work.signal);
    done += wanted.length;
    return answers;
  });
  const found = new Map<string, Map<number, Prepared<SetText>>>();
  for (const [i, { wanted }] of lots.entries())
    for (const [k, { article, slot }] of wanted.entries()) {
      const answer = set[i]?.[k];
      const own = found.get(article.id) ?? new Map<number, Prepared<SetText>>();
      found.set(article.id, own);
      if (answer) own.set(slot, answer);
    }
  return found;
};

/** Codes and pictures of one article. */
const setOthers = async (
  { piece, wording }: Article,
  press: Press | null,
  buyers: BuyersPictures,
  { openers, signal }: Work,
): Promise<{
  readonly codes: ReadonlyMap<number, Prepared<SetText>>;
  readonly pictures: readonly SetPicture[];
  readonly findings: readonly Finding[];
}> => {
  const codes = new Map<number, Prepared<SetText>>();
  const pictures: SetPicture[] = [];
  const findings: Finding[] = [];
  if (press)
    for (const [k, slot] of piece.slots.entries()) {
      const said = wording[slot.slot];
      if (slot.kind === "code" && typeof said === "string") codes.set(k, setCode(slot, said, piece, press));
      if (slot.kind !== "picture" || said === undefined || typeof said === "string") continue;
      const bytes = buyers.get(said.content ?? "");
      // A picture that could not be read has been reported where it was read.
      if (!bytes) continue;
      const answer = await openers.setPicture(piece, k, { ...said, bytes }, press, signal);
      findings.push(...answer.findings);
      if (answer.value) pictures.push(answer.value);
    }
  return { codes, pictures, findings };
};

/** A finding about words once for each stretch of copies that ask for them, so that the shop can ask the right buyer. */
const atCopies = (finding: Finding, { asked }: Article): readonly Finding[] =>
  ABOUT_FONTS.test(finding.rule)
    ? [finding]
    : asked.map(({ order, line, first }) => ({ ...finding, where: { order, line, copy: first, ...finding.where } }));

/** Every piece once, by name. */
export const distinctPieces = (articles: readonly Article[]): readonly Piece[] =>
  [...new Map(articles.map(({ piece }) => [nameOf(piece), piece]))]
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([, piece]) => piece);

/** Pieces and words made ready for the press of their stock: every piece once, however many orders want it. */
export const prepareAll = async (
  articles: readonly Article[],
  shop: Shop,
  buyers: BuyersPictures,
  work: Work,
  spread: Spread = {},
): Promise<Ready> => {
  // Texts come first: an opening process that has made large pictures keeps so much memory that it gets no other task.
  const set = await setSlots(articles, shop, buyers, work, new Map(), spread);
  const pieces = new Map<string, PreparedPiece>();
  const findings: Finding[] = [];
  const distinct = distinctPieces(articles);
  for (const [i, prepared] of (await preparePieces(distinct, shop, "all", work, spread)).entries()) {
    findings.push(...prepared.findings);
    if (prepared.value) pieces.set(nameOf(distinct[i] as Piece), prepared.value);
  }
  return { ...set, pieces, findings: [...findings, ...set.findings] };
};
