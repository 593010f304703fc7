import type { BleedMade, PixelGrid, Tile } from "@kitforme/bleed";

/** Writes the values that print at a place (drawing space, µm) into `into[at]`; false where the picture has nothing. */
export type PrintedAt = (x: number, y: number, beyond: boolean, into: Uint8Array, at: number) => boolean;

/** Side of the squares in which tiles are looked up, µm: about that of a tile at 300 ppi. */
const SQUARE = 10_000;

/** Levels, of 255, within which a value that prints is that of the picture. */
const SAME = 3;

/** Number of the pixel at a place; undefined beside the picture. */
const pixelAt = ({ box, width, height }: Tile | PixelGrid, x: number, y: number): number | undefined => {
  const column = Math.floor(((x - box.x) / box.width) * width);
  const row = Math.floor(((y - box.y) / box.height) * height);
  return column < 0 || row < 0 || column >= width || row >= height ? undefined : row * width + column;
};

/** Says whether what prints at a place beyond the cut is the designer's own bleed: opaque in the picture, and the same there. */
export const drawnAt = (grid: PixelGrid, read: PrintedAt): ((x: number, y: number) => boolean) => {
  const colours = grid.channels - (grid.alpha ? 1 : 0);
  const prints = new Uint8Array(colours);
  const { data, channels } = grid;
  return (x, y) => {
    const pixel = pixelAt(grid, x, y);
    if (pixel === undefined || !read(x, y, true, prints, 0)) return false;
    const at = pixel * channels;
    if (grid.alpha && data[at + colours] !== 255) return false;
    return prints.every((value, c) => Math.abs(value - (data[at + c] as number)) <= SAME);
  };
};

/** What prints near the cut: the picture inside it and, beyond it, the bleed that was made or the designer's own. */
export const printedAt = (grid: PixelGrid, { tiles, flattened }: BleedMade): PrintedAt => {
  const whole = flattened ?? grid;
  const colours = whole.channels - (whole.alpha ? 1 : 0);
  const read = (
    picture: Tile | PixelGrid,
    channels: number,
    x: number,
    y: number,
    into: Uint8Array,
    at: number,
  ): boolean => {
    const pixel = pixelAt(picture, x, y);
    if (pixel === undefined) return false;
    for (let c = 0; c < colours; c++) into[at + c] = picture.data[pixel * channels + c] as number;
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
