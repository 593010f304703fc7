import { apply, inset, matrixOf, type Matrix, mm, multiply, outlinesBounds, ringsOf } from "@kitforme/geometry";
import type { Press } from "@kitforme/kit";
import { type Layer, outputProfile, type PreparedPiece, type SetPicture } from "@kitforme/prepress";
import { writePrint } from "../print.ts";
import type { Look } from "../proof/drawing-threads.ts";
import { type Edge, type EdgeKind, edgesOf } from "./edges.ts";
import { fillRings } from "./fill-rings.ts";
import { type CutPoint, inkBeyond } from "./paper-beyond.ts";
import { lookAt, SEAM, type Seen, SIGHT } from "./seen.ts";

/** One side of a piece as it is to look, without its texts: its own picture and bleed, at the sight of the proof. */
export interface Reference {
  readonly width: number;
  readonly height: number;
  /** Drawing (micrometres) to pixels from the top-left corner. */
  readonly toPixels: Matrix;
  /** RGB on paper of each pixel. */
  readonly colour: Uint8Array;
  /** Between what each pixel must lie; `free` for a piece that is turned by no quarter. Made when first asked for. */
  readonly limits: (free: boolean) => Limits;
  /** 1 where the piece may print, `NEAR` by such a pixel, 0 elsewhere. */
  readonly reach: Uint8Array;
  /** How far its ink reaches beyond its cuts, ring by ring. */
  readonly beyond: readonly (readonly CutPoint[])[];
  /** Where the place of a print can be told by; made when first asked for. */
  readonly edge: (kind: EdgeKind) => Edge;
}

/** RGB of each pixel. */
export interface Limits {
  readonly low: Uint8Array;
  readonly high: Uint8Array;
}

/** In `reach`: nothing prints here, but beside it. */
export const NEAR = 2;
/** Levels of 255 that two drawings of one picture may differ by beyond their neighbours': turned pictures are sampled anew. */
const LEVELS = 28;

const AROUND = mm(1);
/** References are drawn so much finer than sheets are looked at: a sheet's pixel falls anywhere between fine lines. */
const FINER = 2;
/** Draws a side of a piece from a print PDF that holds nothing else. */
export const drawReference = async (
  prepared: PreparedPiece,
  press: Press,
  side: "front" | "back",
  pictures: readonly SetPicture[],
  look: Look,
): Promise<Reference> => {
  const box = inset(outlinesBounds(prepared.reach), -AROUND);
  const matrix = matrixOf({ degrees: 0, e: -box.x, f: box.y + box.height });
  const behind: Matrix = [-1, 0, 0, 1, box.width, 0];
  const placed = { number: 1, prepared, wording: {}, texts: [], pictures, turn: 0, matrix, serves: [] };
  const sheet = {
    stock: { stock: prepared.piece.stock, press },
    width: box.width,
    height: box.height,
    placed: [placed],
    inks: [],
    marks: [],
    ...(side === "back" ? { back: { matrix: behind, slug: "", inks: [] } } : {}),
  };
  const print = await writePrint(sheet, { title: "reference", profile: outputProfile(press) });
  const whole = { x: 0, y: 0, width: box.width, height: box.height };
  const [part] = (
    await lookAt(look, print, side === "back" ? 1 : 0, box, [whole], { transparent: true, sight: FINER * SIGHT })
  ).parts;
  if (!part) throw new Error("a page without a part");
  const { scale } = part;
  const [width, height] = [Math.floor(part.width / FINER), Math.floor(part.height / FINER)];
  const onPage = side === "back" ? multiply(behind, matrix) : matrix;
  const [across, down] = [scale[0] / FINER, scale[1] / FINER];
  const toPixels = multiply([across, 0, 0, -down, 0, box.height * down], onPage);
  const count = width * height;
  const { colour, least, most } = gathered(part, width, height);
  const reach = new Uint8Array(count);
  const rings = ringsOf(prepared.reach).map((ring) => ring.map((p) => apply(toPixels, p.x, p.y)));
  fillRings(rings, { width, height, rule: "evenodd" }, (row, from, to) => {
    reach.fill(1, row * width + from, row * width + to);
  });
  const beyond = inkBeyond(prepared.piece.parts, press.bleed + AROUND, inkIn(part, toPixels, { width, height }));
  const layers = (side === "back" ? prepared.back?.layers : prepared.layers) ?? [];
  const made = new Map<boolean, Limits>();
  const limits: Reference["limits"] = (free) => {
    const known = made.get(free);
    if (known) return known;
    let [low, high] = [least, most];
    for (let i = 0; i < neighbours(layers, free); i++)
      [low, high] = [extreme(low, width, height, false), extreme(high, width, height, true)];
    const widened = widenedBy(low, high);
    made.set(free, widened);
    return widened;
  };
  const edges = new Map<EdgeKind, Edge>();
  const edge = (kind: EdgeKind): Edge => {
    const made = edges.get(kind) ?? edgesOf({ width, height, colour, reach }, kind);
    edges.set(kind, made);
    return made;
  };
  return { width, height, toPixels, colour, limits, reach: withNear(reach, width), beyond, edge };
};

/**
 * Whether there is ink at a point of the drawing. Apart from `drawReference`, whose functions live as long as the reference: all
 * that any function in there uses lives with them, and the fine pixels are three times what is kept.
 */
const inkIn =
  ({ data, width: fine }: Seen, [a, b, c, d, e, f]: Matrix, { width, height }: { width: number; height: number }) =>
  (x: number, y: number): boolean => {
    const [u, v] = [Math.floor(a * x + c * y + e), Math.floor(b * x + d * y + f)];
    return u >= 0 && v >= 0 && u < width && v < height && (data[4 * FINER * (v * fine + u) + 3] as number) >= 128;
  };

/** The reach with the pixels beside it. */
const withNear = (reach: Uint8Array, width: number): Uint8Array => {
  const all = reach.slice();
  for (let at = width; at < reach.length - width; at++)
    if (reach[at] === 0 && (reach[at - 1] || reach[at + 1] || reach[at - width] || reach[at + width])) all[at] = NEAR;
  return all;
};

/** What lies between the least and the most of the pixels around, and by so much beyond as two drawings may differ. */
const widenedBy = (low: Uint8Array, high: Uint8Array): Limits => {
  const limits = { low: new Uint8Array(low.length), high: new Uint8Array(low.length) };
  for (let i = 0; i < low.length; i++) {
    const [least, most] = [low[i] as number, high[i] as number];
    limits.low[i] = Math.max(0, least - LEVELS);
    limits.high[i] = Math.min(255, most + LEVELS + (most - least > LEVELS ? SEAM * (255 - least) : 0));
  }
  return limits;
};

/** So many pixels more may lie between a picture and where PDFium draws it when it is turned freely. */
const FREELY = 2;

/** How far around a pixel its picture may be sampled: a coarse picture is smoothed between its own pixels when it is turned. */
const neighbours = (layers: readonly Layer[], free: boolean): number => {
  const coarse = layers.map((l) => (l.kind === "raster" ? l.box.width / l.raster.width : 0));
  return 1 + (free ? FREELY : 0) + Math.min(6, Math.floor((Math.max(0, ...coarse) * SIGHT) / 25_400));
};

/** Fine pixels on paper as those of the proof: their mean, their least and their most. */
const gathered = ({ data, width: fine }: Seen, width: number, height: number) => {
  const colour = new Uint8Array(width * height * 3);
  const least = new Uint8Array(width * height * 3);
  const most = new Uint8Array(width * height * 3);
  let to = 0;
  for (let row = 0; row < height; row++)
    for (let column = 0; column < width; column++)
      for (let c = 0; c < 3; c++) {
        let sum = 0;
        let low = 255;
        let high = 0;
        for (let y = 0; y < FINER; y++) {
          let at = 4 * ((FINER * row + y) * fine + FINER * column);
          for (let x = 0; x < FINER; x++) {
            const value = 255 - ((data[at + 3] as number) / 255) * (255 - (data[at + c] as number));
            sum += value;
            if (value < low) low = value;
            if (value > high) high = value;
            at += 4;
          }
        }
        colour[to] = Math.round(sum / (FINER * FINER));
        least[to] = low;
        most[to] = high;
        to++;
      }
  return { colour, least, most };
};

/** The least or the most of each value and its neighbours, rows first and then columns. */
const extreme = (colour: Uint8Array, width: number, height: number, most: boolean) => {
  const stride = width * 3;
  const across = new Uint8Array(colour.length);
  for (let row = 0; row < height; row++) {
    const [first, last] = [row * stride, (row + 1) * stride];
    for (let i = first; i < last; i++) {
      let value = colour[i] as number;
      const before = i - 3 >= first ? (colour[i - 3] as number) : value;
      const after = i + 3 < last ? (colour[i + 3] as number) : value;
      if (before > value === most && before !== value) value = before;
      if (after > value === most && after !== value) value = after;
      across[i] = value;
    }
  }
  const all = new Uint8Array(colour.length);
  for (let i = 0; i < colour.length; i++) {
    let value = across[i] as number;
    const before = i >= stride ? (across[i - stride] as number) : value;
    const after = i + stride < colour.length ? (across[i + stride] as number) : value;
    if (before > value === most && before !== value) value = before;
    if (after > value === most && after !== value) value = after;
    all[i] = value;
  }
  return all;
};
