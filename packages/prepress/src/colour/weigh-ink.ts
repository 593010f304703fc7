import type { PixelGrid, Tile } from "@kitforme/bleed";
import { type Contour, outlinesBounds, type Outline, outlinesOf, type Rect, ringsOf } from "@kitforme/geometry";
import { INKS } from "./samples.ts";

/** Ink is weighed over squares of this side, as checkInk does. Micrometres. */
const SQUARE = 1000;
/** One sample in so many micrometres, both ways. */
const STEP = 250;
/** Samples of a square. */
const SAMPLES = (SQUARE / STEP) ** 2;

/** Ink of one side of a piece: how much of each plate, and how much lies on every square millimetre. */
export interface InkMap {
  /** Drawing space; `across` by `down` squares of a millimetre from its upper left corner. */
  readonly box: Rect;
  readonly across: number;
  readonly down: number;
  /** Cyan, magenta, yellow and black in tenths of a percent, four numbers a square, row by row. */
  readonly cells: Uint16Array;
  /** Cyan, magenta, yellow and black: square millimetres that the ink would cover at 100 %. */
  readonly plates: readonly [c: number, m: number, y: number, k: number];
  /** Spot inks on plates of their own: tenths of a percent a square, and square millimetres, as above. Left out: none. */
  readonly spots?: readonly { readonly name: string; readonly cells: Uint16Array; readonly area: number }[];
}

/** Ink of a picture that lies over artwork and hides it. */
export interface CoverMap extends InkMap {
  /** How much of each square it hides, in sixteenths. */
  readonly cover: Uint8Array;
}

/** What lies on the plates of a page whose spot inks stay: its four process inks alone, and each spot ink, within the window. */
export interface Separated {
  readonly process: PixelGrid;
  /** By name, 0 to 255 for every pixel of `process`. */
  readonly spots: ReadonlyMap<string, Uint8Array>;
}

/** What is painted: the artwork inside the cut, beyond it the tiles of made bleed, and the designer's own where there is none. */
export interface Painted {
  readonly grid: PixelGrid;
  readonly tiles: readonly (Tile | PixelGrid)[];
  readonly parts: readonly Outline<"drawing">[];
  readonly reach: readonly Outline<"drawing">[];
}

/**
 * Weighs the ink of a side, sampled every quarter of a millimetre.
 *
 * @param separated the plates of a page whose spot inks stay; left out, a spot ink counts as what stands for it. In bleed that was made
 *   it does so always: there it is printed that way
 * @returns undefined for pixels that are not inks
 */
export const weighInk = ({ grid, tiles, parts, reach }: Painted, separated?: Separated): InkMap | undefined => {
  if (reach.length === 0 || grid.channels - (grid.alpha ? 1 : 0) !== INKS.cmyk || grid.depth !== 8) return undefined;
  const box = outlinesBounds(reach);
  const { cover: _, ...ink } = weigh({ grid: separated?.process ?? grid, tiles, parts, reach }, box);
  if (!separated) return ink;
  const spots = [...separated.spots].map(([name, plate]) => {
    const alone = weigh({ grid: onePlate(separated.process, plate), tiles, parts, reach }, box, true);
    return { name, cells: alone.cells.filter((_ink, i) => i % INKS.cmyk === 0), area: alone.plates[0] };
  });
  return { ...ink, spots };
};

/** A plate as pixels of four inks, of which it is the first. */
const onePlate = (like: PixelGrid, plate: Uint8Array): PixelGrid => {
  const data = new Uint8Array(plate.length * INKS.cmyk);
  plate.forEach((value, i) => (data[i * INKS.cmyk] = value));
  return { ...like, channels: INKS.cmyk, alpha: false, data };
};

/**
 * Weighs a picture of four inks that lies over artwork, as far as its clip.
 *
 * @param from a corner of the squares that the artwork is weighed in, so that both have the same
 */
export const weighPicture = (
  picture: { readonly width: number; readonly height: number; readonly box: Rect; readonly data: Uint8Array },
  clip: readonly Contour<"drawing">[],
  from: { readonly x: number; readonly y: number },
): CoverMap | undefined => {
  if (clip.length === 0) return undefined;
  const reach = outlinesOf(clip);
  const { x, y, width, height } = outlinesBounds(reach);
  const [left, top] = [
    from.x + Math.floor((x - from.x) / SQUARE) * SQUARE,
    from.y + Math.floor((y - from.y) / SQUARE) * SQUARE,
  ];
  const grid: PixelGrid = { ...picture, channels: INKS.cmyk, depth: 8, alpha: false };
  return weigh(
    { grid, tiles: [], parts: reach, reach },
    { x: left, y: top, width: x + width - left, height: y + height - top },
  );
};

/** @param bare made bleed has none of this ink */
const weigh = ({ grid, tiles, parts, reach }: Painted, box: Rect, bare = false): CoverMap => {
  const [across, down] = [Math.ceil(box.width / SQUARE), Math.ceil(box.height / SQUARE)];
  const weights = new Float64Array(4 * across * down);
  const cover = new Uint8Array(across * down);
  const [outer, inner] = [ringsOf(reach), ringsOf(parts)];
  for (let y = box.y + STEP / 2; y < box.y + box.height; y += STEP) {
    const [prints, piece] = [crossings(outer, y), crossings(inner, y)];
    const near = tiles.filter(({ box: { y: top, height } }) => y >= top && y < top + height);
    const line = Math.floor((y - box.y) / SQUARE) * across;
    // Crossings to the left of x, of which there are only more as x goes on.
    let [printed, inPiece] = [0, 0];
    for (let x = box.x + STEP / 2; x < box.x + box.width; x += STEP) {
      while (printed < prints.length && (prints[printed] as number) <= x) printed++;
      if (printed % 2 === 0) continue;
      while (inPiece < piece.length && (piece[inPiece] as number) <= x) inPiece++;
      const tile = near.length > 0 && inPiece % 2 === 0 ? near.find(({ box: own }) => holds(own, x, y)) : undefined;
      if (tile && bare) continue;
      const pixels = tile ?? grid;
      const own = pixels.box;
      if (!holds(own, x, y)) continue;
      const column = Math.min(pixels.width - 1, Math.floor(((x - own.x) / own.width) * pixels.width));
      const row = Math.min(pixels.height - 1, Math.floor(((y - own.y) / own.height) * pixels.height));
      const at = (row * pixels.width + column) * (tile ? INKS.cmyk : grid.channels);
      const { data } = pixels;
      const opacity = !tile && grid.alpha ? (data[at + INKS.cmyk] as number) / 255 : 1;
      const square = line + Math.floor((x - box.x) / SQUARE);
      cover[square] = (cover[square] as number) + 1;
      for (let ink = 0; ink < INKS.cmyk; ink++)
        weights[4 * square + ink] = (weights[4 * square + ink] as number) + (data[at + ink] as number) * opacity;
    }
  }
  const plates: [number, number, number, number] = [0, 0, 0, 0];
  weights.forEach((sum, i) => (plates[i % 4] = (plates[i % 4] as number) + sum));
  const area = (STEP / SQUARE) ** 2 / 255;
  return {
    box,
    across,
    down,
    cells: Uint16Array.from(weights, (sum) => Math.round((sum / 2.55 / SAMPLES) * 10)),
    cover,
    plates: plates.map((sum) => Number((sum * area).toFixed(3))) as unknown as InkMap["plates"],
  };
};

const holds = ({ x, y, width, height }: Rect, px: number, py: number): boolean =>
  px >= x && px < x + width && py >= y && py < y + height;

/** Where rings cross a row, ascending. */
const crossings = (rings: readonly Contour[], y: number): number[] => {
  const found: number[] = [];
  for (const ring of rings)
    for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
      const [a, b] = [ring[i], ring[j]] as [Contour[number], Contour[number]];
      if (a.y > y !== b.y > y) found.push(((b.x - a.x) * (y - a.y)) / (b.y - a.y) + a.x);
    }
  return found.sort((a, b) => a - b);
};
