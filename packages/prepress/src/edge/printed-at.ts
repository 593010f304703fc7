import type { BleedMade, PixelGrid, Tile } from "@kitforme/bleed";

/** Writes the values that print at a place (drawing space, µm) into `into[at]`; false where the picture has nothing. */
export type PrintedAt = (x: number, y: number, beyond: boolean, into: Uint8Array, at: number) => boolean;

/** Side of the squares in which tiles are looked up, µm: about that of a tile at 300 ppi. */
const SQUARE = 10_000;

/** What prints near the cut: the picture inside it and, beyond it, the bleed that was made or the designer's own. */
export const printedAt = (grid: PixelGrid, { tiles, flattened }: BleedMade): PrintedAt => {
  const whole = flattened ?? grid;
  const colours = whole.channels - (whole.alpha ? 1 : 0);
  const read = (
    { box, width, height, data }: Tile | PixelGrid,
    channels: number,
    x: number,
    y: number,
    into: Uint8Array,
    at: number,
  ): boolean => {
    const column = Math.floor(((x - box.x) / box.width) * width);
    const row = Math.floor(((y - box.y) / box.height) * height);
    if (column < 0 || row < 0 || column >= width || row >= height) return false;
    const pixel = (row * width + column) * channels;
    for (let c = 0; c < colours; c++) into[at + c] = data[pixel + c] as number;
    return true;
  };
  const near = tilesBySquare(tiles);
  return (x, y, beyond, into, at) => {
    if (beyond && tiles.length > 0)
      for (const tile of near.get(squareOf(x, y)) ?? []) if (read(tile, colours, x, y, into, at)) return true;
    return read(whole, whole.channels, x, y, into, at);
  };
};

/** One number for a square: a piece is some hundred squares wide. */
const squareOf = (x: number, y: number): number => Math.floor(x / SQUARE) + 100_000 * Math.floor(y / SQUARE);

const tilesBySquare = (tiles: readonly Tile[]): ReadonlyMap<number, readonly Tile[]> => {
  const found = new Map<number, Tile[]>();
  for (const tile of tiles) {
    const { x, y, width, height } = tile.box;
    for (let row = Math.floor(y / SQUARE); row * SQUARE <= y + height; row++)
      for (let column = Math.floor(x / SQUARE); column * SQUARE <= x + width; column++) {
        const square = squareOf(column * SQUARE, row * SQUARE);
        const here = found.get(square);
        if (here) here.push(tile);
        else found.set(square, [tile]);
      }
  }
  return found;
};
