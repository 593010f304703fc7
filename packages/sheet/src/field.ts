import { contourOf, inset } from "@kitforme/geometry";
import type { Stock } from "@kitforme/kit";
import type { Field } from "@kitforme/layout";
import { furnitureOf } from "./furniture.ts";
import type { SheetSize } from "./marks.ts";
import { printableOf, reachOf, spanOf } from "./marks.ts";

/** Along which axis the grain runs; unknown for a square sheet, where long and short say nothing. */
const grainOf = ({ grain }: Stock, { width, height }: SheetSize): "x" | "y" | undefined => {
  if (!grain || width === height) return undefined;
  return width > height === (grain === "long") ? "x" : "y";
};

/**
 * Where pieces may lie on one sheet of a stock. Printed: bleeds lie where the press prints and keep out of marks, code and
 * slug, cuts lie in the rectangle that the marks span. Unprinted: cuts lie where the cutter reaches, nothing is in the way.
 * The field depends on stock and size alone, not on the job: the same pieces always find the same room.
 */
export const fieldOf = (stock: Stock, size: SheetSize): Field => {
  const { press, cutter } = stock;
  const grain = grainOf(stock, size);
  const { zones, code, slug } = press ? furnitureOf(stock, press, size) : { zones: [], code: null, slug: null };
  const boxes = [...zones, ...(code ? [code.zone] : []), ...(slug ? [slug] : [])];
  return {
    id: `${stock.stock} ${size.width}x${size.height}`,
    width: size.width,
    height: size.height,
    bounds: printableOf(stock, size),
    // A trailing blade's axis runs ahead of its tip, and the axis is what must stay within reach.
    coreBounds: inset(press ? spanOf(stock, press, size) : reachOf(stock, size), cutter.path.bladeOffset),
    keepOuts: boxes.filter(({ width, height }) => width > 0 && height > 0).map((box) => contourOf(box)),
    clearance: press ? cutter.clearance : cutter.bareClearance,
    ...(grain ? { axis: grain } : {}),
  };
};
