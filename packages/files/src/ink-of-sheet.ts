import { BLACK, type Ink, type InkMap, type SetText } from "@kitforme/prepress";
import type { Mark, Sheet, SpotInk } from "@kitforme/sheet";
import { areaOfPath } from "./area-of-path.ts";
import { markShape } from "./mark.ts";

/** Ink of one side of a sheet, in percent. */
export interface SheetInk {
  /** Sum of the plates where most lies, over a square millimetre, letters spread evenly over their text. */
  readonly max: number;
  /** Share of the whole sheet that each ink covers. */
  readonly mean: { readonly cyan: number; readonly magenta: number; readonly yellow: number; readonly black: number };
}

type Plates = [c: number, m: number, y: number, k: number];

/**
 * What lies on one side of a sheet on a press of four inks: artwork with its bleed, and the letters over it. Black letters
 * overprint, so theirs is added to what lies under them; other letters knock it out. Pictures of buyers are not weighed apart,
 * for they are brought within the limit; code, slug and marks count by their area.
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
  let max = 0;
  for (const { prepared, texts } of sheet.placed) {
    const ink = side === "front" ? prepared.ink : prepared.back?.ink;
    ink?.plates.forEach((area, plate) => (plates[plate] = (plates[plate] as number) + area));
    for (const sum of ink?.sums ?? []) if (sum / 10 > max) max = sum / 10;
    for (const text of texts) if ((text.side ?? "front") === side) max = Math.max(max, underLetters(text, ink, plates));
  }
  const inks = side === "front" ? sheet.inks : (sheet.back?.inks ?? []);
  for (const one of inks) {
    add(plates, one.ink, areaOfPath(one.outlines));
    // Of a target no square millimetre is more than its two lines.
    const cover = one.item === "registerTarget" ? 0.44 : 1;
    max = Math.max(max, 100 * cover * sum(valuesOf(one.ink)));
  }
  // Marks are for the cutter, which sees the front.
  for (const mark of side === "front" ? sheet.marks : []) {
    add(plates, BLACK, areaOfMark(mark));
    max = Math.max(max, 100);
  }
  const whole = (sheet.width / 1000) * (sheet.height / 1000);
  const [cyan, magenta, yellow, black] = plates.map((area) => Number(((100 * area) / whole).toFixed(2))) as Plates;
  return { max: Number(max.toFixed(1)), mean: { cyan, magenta, yellow, black } };
};

/** Adds a text to the plates, and says the most ink that lies on a square millimetre of it. */
const underLetters = ({ outlines, ink, box }: SetText, under: InkMap | undefined, plates: Plates): number => {
  const area = areaOfPath(outlines);
  add(plates, ink, area);
  const cover = Math.min(1, area / Math.max(1e-9, (box.width / 1000) * (box.height / 1000)));
  const own = 100 * sum(valuesOf(ink));
  const [c, m, y] = valuesOf(ink);
  const over = c === 0 && m === 0 && y === 0;
  let most = cover * own;
  if (!under) return most;
  const from = (at: number, start: number): number => Math.max(0, Math.floor((at - start) / 1000));
  for (let row = from(box.y, under.box.y); row < Math.min(under.down, from(box.y + box.height, under.box.y) + 1); row++)
    for (
      let column = from(box.x, under.box.x);
      column < Math.min(under.across, from(box.x + box.width, under.box.x) + 1);
      column++
    ) {
      const below = (under.sums[row * under.across + column] as number) / 10;
      most = Math.max(most, (over ? below : below * (1 - cover)) + cover * own);
    }
  return most;
};

/** Square millimetres. */
const areaOfMark = (mark: Mark): number => {
  const shape = markShape(mark);
  if (shape.kind === "circle") return Math.PI * (shape.radius / 1000) ** 2;
  return areaOfPath(`M${shape.points.map(({ x, y }) => `${x} ${y}`).join("L")}Z`);
};

const sum = (values: readonly number[]): number => values.reduce((a, b) => a + b, 0);

/** Shares from 0 to 1; a grey of a CMYK press is black ink, a spot ink lies on no plate of these, `All` on each. */
const valuesOf = (ink: Ink | SpotInk): Plates =>
  ink.space === "spot"
    ? (Array.from({ length: 4 }, () => (ink.name === "All" ? ink.tint : 0)) as Plates)
    : ink.space === "cmyk"
      ? [ink.c, ink.m, ink.y, ink.k]
      : ink.space === "grey"
        ? [0, 0, 0, 1 - ink.g]
        : [0, 0, 0, 0];

const add = (plates: Plates, ink: Ink | SpotInk, area: number): void =>
  valuesOf(ink).forEach((share, plate) => (plates[plate] = (plates[plate] as number) + share * area));
