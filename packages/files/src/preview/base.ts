import { contourOf, inset, matrixOf, mm, outlinesBounds, type Rect, type Um } from "@kitforme/geometry";
import { OPERATIONS, type Piece, type Press } from "@kitforme/kit";
import {
  outputProfile,
  overlaid,
  type PreparedPiece,
  renderPage,
  type SetPicture,
  type SetText,
} from "@kitforme/prepress";
import { LEGEND } from "../legend.ts";
import { writePrint } from "../print.ts";
import { BOARD } from "../proof/draw-proof.ts";

/** A piece without its words as it looks when cut; kept between the copies of it. */
export interface PreviewBase {
  readonly prepared: PreparedPiece;
  /** Null for unprinted stock. */
  readonly press: Press | null;
  /** The back is shown as its reader sees it, turned over left for right. */
  readonly side: "front" | "back";
  /** What is shown: the piece and a little around it, micrometres of the drawing. */
  readonly box: Rect;
  /** Pixels. */
  readonly width: number;
  readonly height: number;
  /** RGBA, straight alpha, rows from the top: clear wherever there is no paper after cutting. */
  readonly pixels: Uint8Array;
}

/** How large a preview is to be. */
export interface PreviewSize {
  /** Pixels per inch. Default 150. */
  readonly resolution?: number;
  /** Pixels of the longer side, at most. Default 1600. */
  readonly most?: number;
}

const AROUND: Um = mm(1.5);

/**
 * The piece without its words: its artwork drawn from the print PDF of a sheet that holds nothing else, creases and
 * perforations lightly in the legend's colours, everything outside of the cut clear.
 */
export const previewBase = async (
  prepared: PreparedPiece,
  press: Press | null,
  { resolution = 150, most = 1600 }: PreviewSize = {},
  side: PreviewBase["side"] = "front",
): Promise<PreviewBase> => {
  const { parts, size } = prepared.piece;
  // A drawing without a closed cut is shown whole: only its faults are to be seen in it.
  const shown = parts.length > 0 ? outlinesBounds(parts) : { x: 0, y: 0, ...size };
  const box = inset(shown, -AROUND);
  const scale = Math.min(resolution / 25_400, most / Math.max(box.width, box.height));
  const width = Math.max(1, Math.round(box.width * scale));
  const height = Math.max(1, Math.round(box.height * scale));
  const onSide = (content: string): string =>
    inBox(box, side === "back" ? `<g transform="matrix(-1 0 0 1 ${2 * box.x + box.width} 0)">${content}</g>` : content);
  const paper = await onPaper(prepared, press, box, width, height, side);
  const drawn = await overlaid(paper, width, height, onSide(linesOf(prepared.piece)));
  const black = new Uint8Array(width * height * 4);
  for (let at = 3; at < black.length; at += 4) black[at] = 255;
  const paths = parts.length > 0 ? parts.flatMap(({ outer, openings }) => [outer, ...openings]) : [contourOf(shown)];
  const shape = `<path d="${paths.map(ringPath).join("")}" fill="#ffffff" fill-rule="evenodd"/>`;
  const mask = await overlaid(black, width, height, onSide(shape));
  for (let at = 0; at < drawn.length; at += 4) drawn[at + 3] = mask[at] as number;
  return { prepared, press, side, box, width, height, pixels: drawn };
};

/** An SVG over the whole picture in micrometres of the drawing. */
export const inBox = ({ x, y, width, height }: Rect, content: string): string =>
  `<svg xmlns="http://www.w3.org/2000/svg" viewBox="${x} ${y} ${width} ${height}">${content}</svg>`;

type Points = readonly { readonly x: number; readonly y: number }[];
const linePath = (points: Points): string => `M${points.map(({ x, y }) => `${x} ${y}`).join("L")}`;
const ringPath = (points: Points): string => `${linePath(points)}Z`;

/** Lines as faint as they are to be felt on the piece: cuts as an edge, the others in the legend's colours and dashes. */
const linesOf = ({ lines }: Piece): string =>
  OPERATIONS.map((operation) => {
    const path = lines
      .filter((line) => line.operation === operation)
      .map(({ points, closed }) => (closed ? ringPath : linePath)(points))
      .join("");
    if (path === "") return "";
    if (operation === "cutting")
      return `<path d="${path}" fill="none" stroke="#333333" stroke-opacity="0.35" stroke-width="220"/>`;
    const { colour, dash } = LEGEND[operation];
    const dashes = dash.length > 0 ? ` stroke-dasharray="${dash.map((length) => length * 1000).join(" ")}"` : "";
    return `<path d="${path}" fill="none" stroke="${colour}" stroke-opacity="0.6" stroke-width="250"${dashes}/>`;
  }).join("");

const onPaper = async (
  prepared: PreparedPiece,
  press: Press | null,
  box: Rect,
  width: number,
  height: number,
  side: PreviewBase["side"],
) => {
  if (press) return (await drawPiece(prepared, press, box, { width, height }, { texts: [], pictures: [] }, side)).data;
  const pixels = new Uint8Array(width * height * 4);
  for (let at = 0; at < pixels.length; at += 4) pixels.set([...BOARD, 255], at);
  return pixels;
};

/** What a copy has of its own. */
export interface CopySet {
  readonly texts: readonly SetText[];
  readonly pictures: readonly SetPicture[];
}

/** The piece as its press would print it, drawn from a print PDF that holds nothing else; from `region` on, without paper. */
export const drawPiece = async (
  prepared: PreparedPiece,
  press: Press,
  box: Rect,
  { width, height }: { readonly width: number; readonly height: number },
  { texts, pictures }: CopySet,
  side: PreviewBase["side"],
  region?: { readonly x: number; readonly y: number; readonly width: number; readonly height: number },
) => {
  const placed = {
    number: 1,
    prepared,
    wording: {},
    texts,
    pictures,
    turn: 0,
    matrix: matrixOf({ degrees: 0, e: -box.x, f: box.y + box.height }),
    serves: [],
  };
  // A CMYK profile would only tell the press what its inks are: for the screen it is 100 kB to pack for nothing.
  const profile = press.colour === "rgb" ? outputProfile(press) : null;
  const stock = { stock: prepared.piece.stock, press };
  const behind = { matrix: [-1, 0, 0, 1, box.width, 0], slug: "", inks: [] } as const;
  const sheet = {
    stock,
    width: box.width,
    height: box.height,
    placed: [placed],
    inks: [],
    marks: [],
    ...(side === "back" ? { back: behind } : {}),
  };
  const pdf = await writePrint(sheet, { title: "preview", profile });
  return renderPage(pdf, side === "back" ? 1 : 0, { width, height, ...(region ? { region, transparent: true } : {}) });
};
