import { hasPixel, rasterise, type Runs } from "@kitforme/bleed";
import { type Outline, outlinesBounds, ringsOf } from "@kitforme/geometry";

/** Side of a cell, µm. */
const CELL = 100;

/** Says whether a place (drawing space, µm) lies on the piece, to a tenth of a millimetre: quick, however many places are asked for. */
export const insideOf = (parts: readonly Outline<"drawing">[]): ((x: number, y: number) => boolean) => {
  const { x: left, y: top, width, height } = outlinesBounds(parts);
  const place = ({ x, y }: { readonly x: number; readonly y: number }): readonly [number, number] => [
    (x - left) / CELL,
    (y - top) / CELL,
  ];
  const drawn = (): Runs => {
    const rings = ringsOf(parts).map((ring) => Float64Array.from(ring.flatMap(place)));
    return rasterise(rings, Math.ceil(width / CELL), Math.ceil(height / CELL));
  };
  let cells: Runs | undefined;
  return (x, y) => {
    const [column, row] = place({ x, y });
    return hasPixel((cells ??= drawn()), Math.floor(column), Math.floor(row));
  };
};
