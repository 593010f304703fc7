import { apply, type Matrix, type Rect } from "@kitforme/geometry";
import { THIN } from "../artwork/limits.ts";
import { identifyPage } from "../artwork/identify.ts";
import { normalForm } from "../artwork/second-renderer.ts";
import type { PressColour } from "../colour/profile.ts";
import type { Page } from "../prepared.ts";
import { plateColours, pressColours } from "./colours.ts";
import { inksOf } from "./inks.ts";
import { viewOfPages, viewOfPixels, whereUnlike } from "./looks-alike.ts";
import { readNormalForm } from "./normal-tree.ts";
import { readDrawing } from "./read-drawing.ts";
import { type Item, Obstacle } from "./shapes.ts";
import { thinLinesOf } from "./thin-lines.ts";
import { writePage } from "./write-page.ts";

/** A drawing without live text and foreign files, ready to be drawn. */
export interface VectorSource {
  /** Its root shows `shown` (user units) in `box`. */
  readonly svg: string;
  readonly shown: readonly [x: number, y: number, width: number, height: number];
  /** Micrometres of the piece's drawing. */
  readonly box: Rect;
  /** As for its pixels: exactly black becomes black ink alone. */
  readonly pureBlack: boolean;
  /** Pixels that its picture would have. */
  readonly pixels: number;
  /** RGBA of the box by the renderer whose pixels would print. */
  readonly draw: (width: number, height: number) => Promise<Uint8Array>;
}

/** The page, or what it cannot express and where, millimetres of the piece's drawing. */
export type KeptVector =
  | {
      readonly page: Page;
      /** Lines that a press does not keep: width in micrometres, place as below. */
      readonly thin?: { readonly times: number; readonly width: number; readonly at: readonly [x: number, y: number] };
    }
  | { readonly obstacle: string; readonly at: readonly [x: number, y: number] | undefined };

/** Pixels of the longer side of the gate's views. */
const SIDE = 360;
/** Points of a micrometre. */
const POINT = 72 / 25_400;
/** A drawing whose normal form is longer has more paths than a picture of it has detail. */
const LONGEST = 4_000_000;
/** Bytes that a page may take in any case, and the share of its pixels beyond it: flat pixels pack at least so well. */
const [SMALL, SHARE] = [48_000, 0.1];

/**
 * A drawing as a page of vectors in the press's colours, where a page says all of what the drawing says. Whole or not at all:
 * the first thing that it cannot say is the answer then. Same drawing, same bytes.
 */
export async function keepVector(source: VectorSource, press: PressColour): Promise<KeptVector> {
  const { box, shown } = source;
  const size = [box.width * POINT, box.height * POINT] as const;
  const [x, y, wide, high] = shown;
  const [across, down] = [size[0] / wide, size[1] / high];
  // Pages count upwards.
  const toPage: Matrix = [across, 0, 0, -down, -x * across, size[1] + y * down];
  try {
    const items = await itemsOf(source.svg, toPage);
    const inks = await inksOf(items, press, source.pureBlack);
    const bytes = await writePage(items, size, pressColours(press.colour, inks));
    if (bytes.length > SMALL + SHARE * source.pixels) throw new Obstacle("more paths than its pixels would take room");
    await holdAgainstPixels(source, bytes, press, (pass) => writePage(items, size, plateColours(pass, inks)), size);
    const page = identifyPage({ bytes, index: 0 });
    const thin = thinLinesOf(items, THIN * POINT, size);
    if (!thin) return { page };
    return { page, thin: { times: thin.times, width: thin.thinnest / POINT, at: inDrawing(thin.at, box) } };
  } catch (error) {
    if (!(error instanceof Obstacle)) throw error;
    const { bounds } = error;
    if (!bounds) return { obstacle: error.message, at: undefined };
    const middle = [(bounds[0] + bounds[2]) / 2, (bounds[1] + bounds[3]) / 2] as const;
    return { obstacle: error.message, at: inDrawing(middle, box) };
  }
}

/** A place on the page in millimetres of the piece's drawing. */
const inDrawing = ([x, y]: readonly [number, number], box: Rect): readonly [x: number, y: number] => {
  const [u, v] = apply([1 / POINT, 0, 0, -1 / POINT, box.x, box.y + box.height], x, y);
  return [Math.round(u) / 1000, Math.round(v) / 1000];
};

const itemsOf = async (svg: string, toPage: Matrix): Promise<readonly Item[]> => {
  let normal: string;
  try {
    normal = await normalForm(svg, { files: [], fallback: "" });
  } catch {
    throw new Obstacle("things that the second renderer cannot read");
  }
  if (normal.length > LONGEST) throw new Obstacle("more paths than a page should carry");
  const drawing = readNormalForm(normal);
  if (!drawing) throw new Obstacle("a normal form that cannot be read");
  return readDrawing(drawing, toPage);
};

const holdAgainstPixels = async (
  { box, draw, pureBlack }: VectorSource,
  page: Uint8Array,
  press: PressColour,
  plate: (pass: "cmy" | "k") => Promise<Uint8Array>,
  size: readonly [number, number],
): Promise<void> => {
  const scale = SIDE / Math.max(box.width, box.height);
  const [width, height] = [box.width, box.height].map((side) => Math.max(1, Math.round(side * scale))) as [
    number,
    number,
  ];
  const pages = press.colour === "cmyk" ? [await plate("cmy"), await plate("k")] : [page];
  const ours = await viewOfPages(pages, width, height, press);
  if (!ours) throw new Obstacle("something that the renderer of pages refuses");
  const pixels = await viewOfPixels(await draw(width, height), width, height, press, pureBlack);
  const place = whereUnlike(pixels, ours);
  if (!place) return;
  const [left, top] = [place[0] * size[0], (1 - place[1]) * size[1]];
  const mixes = press.colour === "cmyk" && /\/S \/Transparency/.test(Buffer.from(page).toString("latin1"));
  const what = mixes
    ? "colours seen through others that mix otherwise as inks"
    : "something that a page draws otherwise";
  throw new Obstacle(what, [left, top, left, top]);
};
