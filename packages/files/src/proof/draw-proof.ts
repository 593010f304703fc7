import { drawSvg, encodePng, type PageRaster, reduced, renderPage } from "@kitforme/prepress";
import { Recent } from "./recent.ts";

/** A page of a print PDF. */
export interface ProofPage {
  readonly print: Uint8Array;
  /** From 0. */
  readonly page: number;
}

/** What is drawn alike for many sheets has a name, and is drawn once while it is remembered. */
export interface Named<T> {
  readonly key: string;
  /** Null where whoever draws is known to remember it. */
  readonly from: T | null;
}

/** All that a proof is drawn from; plain data, so that a thread can do it. Sizes are pixels. */
export interface ProofSheet {
  readonly width: number;
  readonly height: number;
  /** Height of the legend under the sheet. */
  readonly strip: number;
  /**
   * What prints, from below up: the page itself; or the artwork of its pieces, which other sheets have too, and what else is on the
   * page; or a page that is pixels already. Null for unprinted stock.
   */
  readonly printed:
    | { readonly kind: "page"; readonly page: ProofPage }
    | { readonly kind: "shared"; readonly artwork: Named<ProofPage>; readonly rest: ProofPage }
    | { readonly kind: "seen"; readonly page: PageRaster }
    | null;
  /** What is drawn over the sheet, an SVG. */
  readonly over: Named<string>;
  /** The strip, an SVG. */
  readonly legend: string;
}

/** PNG bytes. */
export type DrawProof = (sheet: ProofSheet) => Promise<Uint8Array>;

/** Unprinted stock, so that white pieces are not taken for printed ones. */
export const BOARD: readonly [number, number, number] = [216, 210, 199];

/** How many of each kind are remembered: sheets of one layout follow each other. */
export const REMEMBERED = 2;

/** Draws proofs, and remembers what the next may have in common. What was asked for first is drawn first. */
export class ProofDrawer {
  readonly #artwork = new Recent<Promise<Uint8Array>>(REMEMBERED);
  readonly #over = new Recent<Promise<Uint8Array>>(REMEMBERED);

  /** The print as pixels, or bare board where nothing is printed, with lines over it and a legend below. */
  async draw({ printed, width, height, strip, over, legend }: ProofSheet): Promise<Uint8Array> {
    const size = { width, height };
    // Asked for before anything is waited for: threads and their givers count on the order.
    const lines = this.#over.of(`${width} ${over.key}`, () => drawSvg(there(over), width, height));
    const ground = printed?.kind === "shared" ? this.#shared(printed.artwork, size) : this.#alone(printed, size);
    const [below, above] = await Promise.all([ground, lines]);
    const pixels = new Uint8Array(width * (height + strip) * 3).fill(255);
    pixels.set(below);
    if (printed?.kind === "shared") {
      const rest = await renderPage(printed.rest.print, printed.rest.page, { ...size, transparent: true });
      lay(pixels, rest.data, 0);
    }
    lay(pixels, above, 0);
    lay(pixels, await drawSvg(legend, width, strip), width * height);
    return encodePng(pixels, width, height + strip, 3);
  }

  #shared(artwork: Named<ProofPage>, size: Size): Promise<Uint8Array> {
    return this.#artwork.of(`${size.width} ${artwork.key}`, () => opaque(there(artwork), size));
  }

  #alone(printed: Exclude<ProofSheet["printed"], { readonly kind: "shared" }>, size: Size): Promise<Uint8Array> {
    if (!printed) return Promise.resolve(board(size));
    if (printed.kind === "page") return opaque(printed.page, size);
    return reduced(printed.page, size.width, size.height);
  }
}

interface Size {
  readonly width: number;
  readonly height: number;
}

const there = <T>({ key, from }: Named<T>): T => {
  if (from === null) throw new Error(`${key} is not remembered`);
  return from;
};

/** RGB of a page on white paper. */
const opaque = async ({ print, page }: ProofPage, size: Size): Promise<Uint8Array> => {
  const { data } = await renderPage(print, page, size);
  const pixels = new Uint8Array(size.width * size.height * 3);
  for (let i = 0, j = 0; j < data.length; i += 3, j += 4) {
    pixels[i] = data[j] as number;
    pixels[i + 1] = data[j + 1] as number;
    pixels[i + 2] = data[j + 2] as number;
  }
  return pixels;
};

const board = ({ width, height }: Size): Uint8Array => {
  const pixels = new Uint8Array(width * height * 3);
  pixels.set(BOARD.slice(0, pixels.length));
  // What is filled is copied behind itself, twice as much each time.
  for (let filled = BOARD.length; filled < pixels.length; filled *= 2) pixels.copyWithin(filled, 0, filled);
  return pixels;
};

/** Lays RGBA of straight alpha over RGB, from a pixel on. */
const lay = (pixels: Uint8Array, over: Uint8Array, from: number): void => {
  for (let j = 0, i = 3 * from; j < over.length; j += 4, i += 3) {
    const alpha = over[j + 3] as number;
    if (alpha === 0) continue;
    for (let k = 0; k < 3; k++) {
      const below = pixels[i + k] as number;
      pixels[i + k] = below + Math.round((((over[j + k] as number) - below) * alpha) / 255);
    }
  }
};

/** Draws one proof here, in the caller's thread. */
export const drawProof: DrawProof = (sheet) => new ProofDrawer().draw(sheet);
