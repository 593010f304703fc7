import {
  cautionsForPieces,
  drawLegendLine,
  drawPiece,
  type Handled,
  type Job,
  LEFT,
  LEGEND,
  Paper,
  usedOf,
  WIDE,
} from "@kitforme/files";
import { mm, outlinesBounds, type Um } from "@kitforme/geometry";
import type { Join, Piece } from "@kitforme/kit";

/** A4 is 18 mm longer than Letter: that much and a margin stay free at the foot, so that a sheet goes onto either. */
const FOOT = mm(32);
const TEXT = 11;
const SMALL = 9;
/** Cells of the picture of all pieces: small when there are many, so that a page shows about two dozen of them. */
const OVERVIEW = { columns: 4, height: mm(36) };
/** Room of a piece drawn by itself; what is larger is drawn smaller and says so. */
const DETAIL = mm(150);
const LETTER = mm(2.6);

/** What one kit's sheet is made of. */
interface Contents {
  readonly kit: string;
  readonly pieces: readonly Handled[];
  readonly joins: readonly Join[];
}

/**
 * Assembly sheets, one a kit of the job: a picture of all its pieces side by side, then each piece with its scale and how many
 * a kit takes, creases and perforations dashed as in the legend, and the letters of the kit's joins at both of their places.
 * Ours are grey only; A4, and within what US Letter shows of it. The designer's own pages follow, at their own size.
 *
 * @returns the PDF; nothing for a job without sheets, nor for a remake: it makes a few pieces of kits whose sheets lie in the
 *   first job's folder, unchanged, and one that shows only these would count too few
 */
export const writeAssembly = async (job: Job): Promise<Uint8Array | undefined> => {
  if (job.remakes) return undefined;
  const kits = contentsOf(job);
  if (kits.length === 0) return undefined;
  const paper = new Paper(`Job ${job.job}   assembly`, FOOT);
  for (const kit of kits) {
    sheetOf(paper, kit, job.titles[kit.kit] ?? kit.kit);
    for (const { bytes } of job.assembly?.[kit.kit]?.pages ?? []) paper.append(bytes);
  }
  return paper.bytes(`Assembly sheets of job ${job.job}`);
};

/** Kits and their pieces by name, each piece once. */
const contentsOf = (job: Job): Contents[] => {
  const kits = new Map<string, Map<string, Handled>>();
  for (const { sheet } of job.sheets)
    for (const { prepared } of sheet.placed) {
      const { kit, piece } = prepared.piece;
      const pieces = kits.get(kit) ?? new Map<string, Handled>();
      kits.set(kit, pieces.set(piece, { piece: prepared.piece, printed: sheet.stock.press !== null }));
    }
  return sorted(kits).map(([kit, pieces]) => ({
    kit,
    pieces: sorted(pieces).map(([, handled]) => handled),
    joins: job.joins?.[kit] ?? [],
  }));
};

const sorted = <V>(map: ReadonlyMap<string, V>): [string, V][] => [...map].sort(([a], [b]) => (a < b ? -1 : 1));

const sheetOf = (paper: Paper, { pieces, joins }: Contents, title: string): void => {
  paper.begin(title);
  const count = pieces.reduce((sum, { piece }) => sum + piece.perKit, 0);
  paper.paragraph(`${count} ${count === 1 ? "piece" : "pieces"} in a kit`, TEXT);
  legend(paper, pieces);
  overview(paper, pieces);
  for (const { piece } of pieces) detail(paper, piece, joins);
  if (joins.length > 0) {
    paper.heading("Joins", 13);
    for (const { tab, piece, into } of joins) paper.paragraph(`${tab}: ${piece} into ${into.piece}`, TEXT);
  }
  // The cutter's caution is for the shop; whoever assembles has no cutter.
  for (const { title: head, text } of cautionsForPieces(pieces).filter(({ rule }) => rule !== "caution.cutter")) {
    paper.need(mm(20));
    paper.y += mm(3);
    paper.paragraph(head, TEXT, LEFT, WIDE, "semibold");
    paper.paragraph(text, SMALL);
  }
};

/** How the lines that these pieces have are dashed. */
const legend = (paper: Paper, pieces: readonly Handled[]): void => {
  const shown = usedOf(pieces.flatMap(({ piece }) => piece.lines.map(({ operation }) => operation)));
  if (shown.length === 0) return;
  paper.need(mm(9));
  for (const [i, operation] of shown.entries())
    drawLegendLine(paper, operation, LEGEND[operation].words, {
      x: LEFT + i * mm(44),
      y: paper.y + mm(4),
      size: SMALL,
    });
  paper.y += mm(8);
};

/** All pieces side by side, at one scale as far as they go into their cells. */
const overview = (paper: Paper, pieces: readonly Handled[]): void => {
  const { columns, height } = OVERVIEW;
  const width = WIDE / columns;
  const inner = { width: width - mm(4), height: height - mm(10) };
  const scale = Math.min(
    1,
    ...pieces.map(({ piece }) => {
      const bounds = outlinesBounds(piece.parts);
      return Math.min(inner.width / bounds.width, inner.height / bounds.height);
    }),
  );
  paper.heading("All pieces", 13);
  paper.paragraph(scaleWords(scale), SMALL);
  for (let first = 0; first < pieces.length; first += columns) {
    paper.need(height);
    for (const [i, { piece }] of pieces.slice(first, first + columns).entries()) {
      const x = LEFT + i * width;
      drawPiece(paper, piece, { x: x + mm(2), y: paper.y + mm(1), ...inner }, scale);
      const below = paper.y + height - mm(4);
      paper.centred(`${piece.perKit} × ${shortened(piece.piece)}`, x + width / 2, below, SMALL);
    }
    paper.y += height;
  }
};

/** A piece by itself with its scale and the letters of its joins. */
const detail = (paper: Paper, piece: Piece, joins: readonly Join[]): void => {
  const bounds = outlinesBounds(piece.parts);
  const scale = Math.min(1, WIDE / bounds.width, DETAIL / bounds.height);
  const height = Math.ceil(bounds.height * scale);
  paper.need(height + mm(24));
  paper.heading(`${piece.perKit} × ${piece.piece}`, 13);
  paper.paragraph(scaleWords(scale), SMALL);
  const [top, left] = [paper.y + mm(1), LEFT + (WIDE - bounds.width * scale) / 2];
  drawPiece(paper, piece, { x: LEFT, y: top, width: WIDE, height }, scale);
  for (const { tab, at } of endsOn(piece, joins)) {
    const [x, y] = [left + (at.x - bounds.x) * scale, top + (at.y - bounds.y) * scale];
    letter(paper, tab, x, y);
  }
  paper.y = top + height + mm(3);
};

const endsOn = (piece: Piece, joins: readonly Join[]) =>
  joins.flatMap(({ tab, into, ...from }) =>
    [from, into].filter((end) => end.piece === piece.piece).map(({ at }) => ({ tab, at })),
  );

/** A join's letter on a white patch, so that lines under it do not cross it. */
const letter = (paper: Paper, tab: string, x: Um, y: Um): void => {
  const half = [LETTER * (0.6 + 0.35 * tab.length), LETTER * 0.95] as const;
  const at = `${points(x - half[0])} ${points(paper.up(y + half[1]))} ${points(2 * half[0])} ${points(2 * half[1])}`;
  paper.draw(`q 1 g 0.3 G 0.4 w ${at} re B Q`);
  paper.centred(tab, x, y + mm(1.3), 10);
};

/** Drawn smaller, n says how much with two decimals at the most. */
const scaleWords = (scale: number): string => {
  if (scale >= 1) return "Drawn at true size, 1:1 when printed at 100 %";
  return `Drawn smaller, at 1:${Number((1 / scale).toFixed(2))}`;
};

/** Characters of a name that fit under a picture. */
const LETTERS = 22;
const shortened = (text: string): string => (text.length <= LETTERS ? text : `${text.slice(0, LETTERS - 1)}…`);

const points = (um: number): string => ((um * 72) / 25_400).toFixed(3);
