import { apply, inset, matrixOf, type Matrix, mm, multiply, outlinesBounds, ringsOf } from "@kitforme/geometry";
import type { Press } from "@kitforme/kit";
import {
  type Ink,
  type Layer,
  outputProfile,
  type PreparedPiece,
  renderRegions,
  type SetPicture,
} from "@kitforme/prepress";
import { writePrint } from "../print.ts";
import { type Edge, type EdgeKind, edgesOf } from "./edges.ts";
import { fillRings } from "./fill-rings.ts";
import { type CutPoint, inkBeyond } from "./paper-beyond.ts";
import type { Look } from "../proof/drawing-threads.ts";
import { ProvenCuts } from "./proven-cuts.ts";
import { lookAt, type Seen, SIGHT } from "./seen.ts";

/** One side of a piece as it is to look, without its texts: its own picture and bleed, at the sight of the proof. */
export interface Reference {
  readonly width: number;
  readonly height: number;
  /** Drawing (micrometres) to pixels from the top-left corner. */
  readonly toPixels: Matrix;
  /** RGB on paper of each pixel. */
  readonly colour: Uint8Array;
  /** The least and the most of each pixel and those around it: turned pixels fall between others. Made when first asked for. */
  readonly bounds: (free: boolean) => { readonly low: Uint8Array; readonly high: Uint8Array };
  /** 1 where the piece may print. */
  readonly reach: Uint8Array;
  /** How far its ink reaches beyond its cuts, ring by ring. */
  readonly beyond: readonly (readonly CutPoint[])[];
  /** Where the place of a print can be told by; made when first asked for. */
  readonly edge: (kind: EdgeKind) => Edge;
}

const AROUND = mm(1);
/** References are drawn so much finer than sheets are looked at: a sheet's pixel falls anywhere between fine lines. */
const FINER = 2;
/** Bytes of references kept for the next sheet. */
const MOST_BYTES = 96 * 2 ** 20;

/** References of a job's pieces: each is drawn once, from a print PDF that holds nothing else. */
export class References {
  readonly #kept = new Map<string, { readonly prepared: PreparedPiece; readonly made: Promise<Reference> }>();
  readonly #inks = new Map<string, Promise<readonly [number, number, number]>>();
  #bytes = 0;
  /** Cut files that were proven. */
  readonly cuts = new ProvenCuts();
  /** Who draws the pages that are looked at. */
  readonly look: Look;

  /** @param look left out: this thread draws */
  constructor(look: Look = renderRegions) {
    this.look = look;
  }

  /** @param pictures the buyer's, for a piece that has any */
  of(
    prepared: PreparedPiece,
    press: Press,
    side: "front" | "back",
    pictures: readonly SetPicture[],
  ): Promise<Reference> {
    const { kit, piece } = prepared.piece;
    if (pictures.length > 0) return draw(prepared, press, side, pictures, this.look);
    const key = JSON.stringify([kit, piece, side]);
    const known = this.#kept.get(key);
    if (known?.prepared === prepared) return known.made;
    const made = draw(prepared, press, side, [], this.look);
    this.#kept.set(key, { prepared, made });
    void made.then(
      ({ colour }) => {
        this.#bytes += colour.length * 3.3;
        if (this.#bytes > MOST_BYTES) this.#kept.clear();
        if (this.#bytes > MOST_BYTES) this.#bytes = 0;
      },
      () => this.#kept.delete(key),
    );
    return made;
  }

  /** How an ink looks on paper, RGB. */
  colourOf(ink: Ink, press: Press): Promise<readonly [number, number, number]> {
    const key = JSON.stringify([ink, press.colour]);
    const known = this.#inks.get(key) ?? swatch(ink, press, this.look);
    this.#inks.set(key, known);
    return known;
  }
}

/** References as one sheet asks for them: those with a buyer's pictures are drawn once, and given up with the sheet. */
export const referencesOfSheet = (references: References): Pick<References, "of" | "colourOf"> => {
  const drawn = new Map<SetPicture, { readonly prepared: PreparedPiece; readonly made: Promise<Reference> }>();
  return {
    colourOf: (ink, press) => references.colourOf(ink, press),
    of: (prepared, press, side, pictures) => {
      const [first] = pictures;
      const known = first && drawn.get(first);
      if (known?.prepared === prepared) return known.made;
      const made = references.of(prepared, press, side, pictures);
      if (first) drawn.set(first, { prepared, made });
      return made;
    },
  };
};

const swatch = async (ink: Ink, press: Press, look: Look): Promise<readonly [number, number, number]> => {
  const size = { width: mm(2), height: mm(2) };
  const outlines = "M 0 0 L 2000 0 L 2000 2000 L 0 2000 Z";
  const sheet = { ...size, stock: { stock: "swatch", press }, placed: [], inks: [{ outlines, ink }], marks: [] };
  const print = await writePrint(sheet, { title: "swatch", profile: outputProfile(press) });
  const [part] = (await lookAt(look, print, 0, size, [{ x: 0, y: 0, ...size }])).parts;
  const at = part ? (Math.floor(part.height / 2) * part.width + Math.floor(part.width / 2)) * 4 : 0;
  return [part?.data[at] ?? 0, part?.data[at + 1] ?? 0, part?.data[at + 2] ?? 0];
};

const draw = async (
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
  const { data, scale } = part;
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
  const [a, b, c, d, e, f] = toPixels;
  const beyond = inkBeyond(prepared.piece.parts, press.bleed + AROUND, (x, y) => {
    const [u, v] = [Math.floor(a * x + c * y + e), Math.floor(b * x + d * y + f)];
    return u >= 0 && v >= 0 && u < width && v < height && (data[4 * FINER * (v * part.width + u) + 3] as number) >= 128;
  });
  const layers = (side === "back" ? prepared.back?.layers : prepared.layers) ?? [];
  const around = [false, true].map((free): (() => ReturnType<Reference["bounds"]>) => {
    let made: ReturnType<Reference["bounds"]> | undefined;
    return () => {
      if (made) return made;
      let [low, high] = [least, most];
      for (let i = 0; i < neighbours(layers, free); i++)
        [low, high] = [extreme(low, width, height, false), extreme(high, width, height, true)];
      return (made = { low, high });
    };
  });
  const bounds: Reference["bounds"] = (free) => (around[free ? 1 : 0] as () => ReturnType<Reference["bounds"]>)();
  const edges = new Map<EdgeKind, Edge>();
  const edge = (kind: EdgeKind): Edge => {
    const made = edges.get(kind) ?? edgesOf({ width, height, colour, reach }, kind);
    edges.set(kind, made);
    return made;
  };
  return { width, height, toPixels, colour, bounds, reach, beyond, edge };
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
