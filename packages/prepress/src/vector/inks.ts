import type { PressColour } from "../colour/profile.ts";
import { INKS } from "../colour/samples.ts";
import { samplesToPress } from "../colour/to-press.ts";
import { runsOf } from "./runs.ts";
import type { Item, Paint, Rgb } from "./shapes.ts";

/** Every colour of a drawing in the press's values of 8 bits. */
export type InksOf = (rgb: Rgb) => readonly number[];

/**
 * Converts all colours of a drawing at once, by the very conversion that pixels of it would go through: a shape and a picture of
 * one colour print alike.
 *
 * @param pureBlack as for pixels: exactly black becomes black ink alone
 */
export async function inksOf(items: readonly Item[], press: PressColour, pureBlack: boolean): Promise<InksOf> {
  const colours = [...coloursIn(items)].sort((a, b) => a - b);
  if (colours.length === 0) return () => [];
  const data = Uint8Array.from(colours.flatMap((rgb) => [rgb >> 16, (rgb >> 8) & 255, rgb & 255]));
  const { data: values, space } = await samplesToPress(
    { width: colours.length, height: 1, space: "rgb", alpha: false, data },
    press,
    { pureBlack },
  );
  const count = INKS[space];
  const known = new Map(colours.map((rgb, i) => [rgb, [...values.subarray(i * count, (i + 1) * count)]]));
  return (rgb) => {
    const inks = known.get(rgb);
    if (!inks) throw new Error("a colour was not among those of the drawing");
    return inks;
  };
}

const coloursIn = (items: readonly Item[]): Set<Rgb> => {
  const colours = new Set<Rgb>();
  const add = (paint: Paint): void => {
    if (typeof paint === "number") colours.add(paint);
    else for (const { steps } of runsOf(paint)) for (const rgb of steps) colours.add(rgb);
  };
  const visit = (item: Item): void => {
    if (item.kind === "group") for (const inner of item.items) visit(inner);
    else for (const part of [item.fill, item.stroke]) if (part) add(part.paint);
  };
  for (const item of items) visit(item);
  return colours;
};
