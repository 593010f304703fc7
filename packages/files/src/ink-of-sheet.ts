import type { Ink } from "@kitforme/prepress";
import { BLACK } from "@kitforme/prepress/line";
import type { Mark, Sheet, SpotInk } from "@kitforme/sheet";
import { areaOfPath } from "./area-of-path.ts";
import { inkOfPlace } from "./ink-of-place.ts";
import { markShape } from "./mark.ts";
import { type Plates, platesOfInk } from "./plates-of-ink.ts";

/** Ink of one side of a sheet, in percent. */
export interface SheetInk {
  /** Sum of the plates where most lies, over a square millimetre, letters spread evenly over their text. */
  readonly max: number;
  /** Share of the whole sheet that each ink covers; spot inks by name where they have plates of their own, which none of the four counts. */
  readonly mean: {
    readonly cyan: number;
    readonly magenta: number;
    readonly yellow: number;
    readonly black: number;
    readonly spots?: Readonly<Record<string, number>>;
  };
}

/**
 * What lies on one side of a sheet on a press of four inks: artwork with its bleed, over it the buyers' pictures, and over these
 * the letters with their grounds and rims. What hides counts instead of what it hides; black letters overprint, so theirs is
 * added. Code, slug, marks and what the waste carries count by their area.
 *
 * @returns undefined on any other press
 */
export const inkOfSheet = (sheet: Sheet, side: "front" | "back"): SheetInk | undefined => {
  const known = weighed[side].get(sheet);
  if (known) return known;
  const ink = weigh(sheet, side);
  if (ink) weighed[side].set(sheet, ink);
  return ink;
};

/** Findings, manifest and estimate ask for the same sheets. */
const weighed = { front: new WeakMap<Sheet, SheetInk>(), back: new WeakMap<Sheet, SheetInk>() };

const weigh = (sheet: Sheet, side: "front" | "back"): SheetInk | undefined => {
  if (sheet.stock.press?.colour !== "cmyk" || (side === "back" && !sheet.back)) return undefined;
  const plates: Plates = [0, 0, 0, 0];
  const spots = new Map<string, number>();
  let max = 0;
  for (const placed of sheet.placed) {
    const ink = inkOfPlace(placed, side);
    ink.plates.forEach((area, plate) => (plates[plate] = (plates[plate] as number) + area));
    for (const [name, area] of Object.entries(ink.spots)) spots.set(name, (spots.get(name) ?? 0) + area);
    max = Math.max(max, ink.max);
  }
  const inks = side === "front" ? sheet.inks : (sheet.back?.inks ?? []);
  for (const one of inks) {
    add(plates, one.ink, areaOfPath(one.outlines));
    // Of a target no square millimetre is more than its two lines.
    const cover = one.item === "registerTarget" ? 0.44 : 1;
    max = Math.max(max, 100 * cover * sum(platesOfInk(one.ink)));
  }
  // Marks are for the cutter, which sees the front.
  for (const mark of side === "front" ? sheet.marks : []) {
    add(plates, BLACK, areaOfMark(mark));
    max = Math.max(max, 100);
  }
  const whole = (sheet.width / 1000) * (sheet.height / 1000);
  const share = (area: number): number => Number(((100 * area) / whole).toFixed(2));
  const [cyan, magenta, yellow, black] = plates.map(share) as Plates;
  const named = [...spots].sort(([a], [b]) => (a < b ? -1 : 1)).map(([name, area]) => [name, share(area)] as const);
  const mean = { cyan, magenta, yellow, black, ...(named.length > 0 ? { spots: Object.fromEntries(named) } : {}) };
  return { max: Number(max.toFixed(1)), mean };
};

/** Square millimetres. */
const areaOfMark = (mark: Mark): number => {
  const shape = markShape(mark);
  if (shape.kind === "circle") return Math.PI * (shape.radius / 1000) ** 2;
  return areaOfPath(`M${shape.points.map(({ x, y }) => `${x} ${y}`).join("L")}Z`);
};

const sum = (values: readonly number[]): number => values.reduce((a, b) => a + b, 0);

const add = (plates: Plates, ink: Ink | SpotInk, area: number): void =>
  platesOfInk(ink).forEach((share, plate) => (plates[plate] = (plates[plate] as number) + share * area));
