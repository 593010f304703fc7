import {
  type Copies,
  drawPiece,
  type Job,
  LEFT,
  Paper,
  type PickingList,
  pickingLists,
  range,
  WIDE,
} from "@kitforme/files";
import { mm } from "@kitforme/geometry";
import type { Piece } from "@kitforme/kit";
import { drawCode, type SetText } from "@kitforme/prepress";

/** A4 is 18 mm longer than Letter: that much and a margin stay free at the foot, so that a slip goes onto either. */
const FOOT = mm(32);
/** Type that is read at arm's length: 11 pt and more (common practice, no source). */
const TEXT = 11;
const SMALL = 9.5;
/** Module of the order's code: hand scanners read 0.33 mm; half as much again forgives a worn printer (common practice). */
const MODULE = mm(0.5);
/** From line to line of a piece, and how many lines of places stand beside its picture. */
const STEP = mm(4.2);
const BESIDE = 2;
const PICTURE = { width: mm(22), height: mm(16) };

/**
 * A packing slip for every order, in the order in which they are due: address, what belongs into the parcel with the words on
 * it, where each piece lies (sheet:number), a small picture of it, a box to tick, and a code with the order's name for a hand
 * scanner. Grey only; A4, and within what US Letter shows of it.
 *
 * @returns the PDF; nothing for a job without orders
 */
export const writeSlips = async (job: Job): Promise<Uint8Array | undefined> => {
  if (job.orders.length === 0) return undefined;
  const paper = new Paper(`Job ${job.job}   packing slips`, FOOT);
  const pieces = piecesOf(job);
  const addresses = new Map(job.orders.map(({ order, to }) => [order, to ?? []]));
  for (const list of inDueOrder(pickingLists(job))) {
    const set = job.addresses?.get(list.order);
    const to = (addresses.get(list.order) ?? []).map((line, i) => set?.get(i) ?? line);
    slip(paper, list, to, pieces);
  }
  return paper.bytes(`Packing slips of job ${job.job}`);
};

/** The earliest first; orders without a day after all that have one, ties by name. */
const inDueOrder = (lists: readonly PickingList[]): PickingList[] => {
  const key = ({ order, due }: PickingList): string => `${due ?? "9999"} ${order}`;
  return [...lists].sort((a, b) => (key(a) < key(b) ? -1 : key(a) > key(b) ? 1 : 0));
};

/** Pieces of the job by kit and name. */
const piecesOf = (job: Job): ReadonlyMap<string, Piece> =>
  new Map(
    job.sheets.flatMap(({ sheet }) =>
      sheet.placed.map(({ prepared: { piece } }): [string, Piece] => [`${piece.kit}/${piece.piece}`, piece]),
    ),
  );

const slip = (
  paper: Paper,
  { order, due, kits }: PickingList,
  to: readonly (string | SetText)[],
  pieces: ReadonlyMap<string, Piece>,
): void => {
  const code = drawCode("datamatrix", order, MODULE);
  const beside = WIDE - (code ? code.side + mm(6) : 0);
  paper.begin(`Order ${order}`, beside);
  const top = paper.y;
  if (code) {
    const [x, y] = [LEFT + WIDE - code.side, mm(14)];
    paper.draw(`q 0 g 1 0 0 -1 ${points(x)} ${points(paper.up(y))} cm\n${operators(code.outlines)}\nf Q`);
  }
  if (due !== undefined) paper.paragraph(`Due ${due}`, TEXT, LEFT, beside, "semibold");
  for (const line of to)
    if (typeof line === "string") paper.paragraph(line, TEXT, LEFT, beside);
    else paper.setLine(line, LEFT, TEXT, beside);
  paper.y = Math.max(paper.y, top + mm(2), mm(14) + (code?.side ?? 0)) + mm(3);
  for (const { kit, title, copies } of kits) {
    const count = copies.at(-1)?.last ?? 0;
    // No heading alone at the foot of a page: its first words and first piece go with it.
    paper.need(PICTURE.height + mm(34));
    paper.heading(`${count} × ${title}`, 13);
    for (const copy of copies) gathered(paper, kit, copy, copies.length > 1, pieces);
  }
};

/** Copies that are packed alike: their words, and each of their pieces with its picture and where it lies. */
const gathered = (
  paper: Paper,
  kit: string,
  { first, last, words, picks }: Copies,
  several: boolean,
  pieces: ReadonlyMap<string, Piece>,
): void => {
  const row = PICTURE.height + mm(2);
  paper.need(row + mm(10));
  if (several || words.length > 0)
    paper.paragraph(
      first === last ? `Kit ${first}` : `Kits ${range(first, last)}, each:`,
      TEXT,
      LEFT,
      WIDE,
      "semibold",
    );
  paper.setWords(words, LEFT, TEXT, WIDE);
  paper.y += mm(2.5);
  for (const { piece, from } of picks) {
    const [x, width] = [LEFT + mm(10) + PICTURE.width + mm(5), WIDE - PICTURE.width - mm(15)];
    const count = from.reduce((sum, pile) => sum + pile.count, 0);
    const names = paper.wrap(`${count} × ${piece}`, TEXT, width, "semibold");
    const piles = from.map((p) => `${p.sheet}:${p.place}${p.count > 1 ? ` (${p.count})` : ""}`).join(", ");
    const places = paper.wrap(piles === "" ? "none made" : `from ${piles}`, SMALL, width);
    paper.need(row);
    const known = pieces.get(`${kit}/${piece}`);
    if (known) drawPiece(paper, known, { x: LEFT + mm(10), y: paper.y, ...PICTURE });
    paper.box(LEFT, paper.y + PICTURE.height / 2 - mm(2.5), mm(5));
    // The name upwards from the picture's middle, the places downwards: what has no room beside it goes on below.
    const middle = paper.y + PICTURE.height / 2 - mm(0.8);
    for (const [i, name] of names.entries())
      paper.line(name, x, middle - (names.length - 1 - i) * STEP, TEXT, "semibold");
    for (const [i, line] of places.slice(0, BESIDE).entries()) paper.line(line, x, middle + mm(5) + i * STEP, SMALL);
    paper.y += row;
    if (places.length > BESIDE) paper.paragraph(places.slice(BESIDE).join(" "), SMALL, x, width);
  }
};

const points = (um: number): string => ((um * 72) / 25_400).toFixed(3);

/** A code's outlines (absolute M L Z) as operators in points. */
const operators = (outlines: string): string =>
  outlines.replaceAll(/([MLZ])\s*(?:(-?[\d.]+)[ ,](-?[\d.]+))?\s*/g, (_, command: string, x?: string, y?: string) =>
    command === "Z" ? "h\n" : `${points(Number(x))} ${points(Number(y))} ${command === "M" ? "m" : "l"}\n`,
  );
