import { mm, type Rect, type Um } from "@kitforme/geometry";
import type { Press } from "@kitforme/kit";
import type { Ink } from "@kitforme/prepress";
import { BLACK, setLine } from "@kitforme/prepress/line";
import { SLUG_SIZE } from "../furniture.ts";
import type { SheetInk, SpotInk, WasteItem } from "../sheet.ts";

// Plain shapes for people with a loupe and a ruler. Sizes are common practice without a source where no other is named.

/** Side of a patch: 5 to 6 mm is what hand-held instruments take. */
export const PATCH: Um = mm(5);
/** A patch stands for the solid ink, the next for half of it. */
const TINTS = [1, 0.5] as const;
/** Arms of the register target from end to end, and the width of its lines. */
export const TARGET: Um = mm(8);
const LINE: Um = 250;
/** Half the side of the square around the target's middle. */
const SQUARE: Um = mm(2.5);
/** Way between two strokes of the ruler, and how high strokes stand: the ends higher. */
const STEP: Um = mm(10);
const [STROKE, END] = [mm(2), mm(3)];
/** Length of the ruler where there is room, else the second. */
export const SCALES: readonly Um[] = [mm(100), mm(50)];
/** Height of the ruler with its words beside it. */
export const SCALE_HEIGHT: Um = END;
const SCALE_WORDS: Um = mm(13);
/** The whole ruler, words and all. */
export const scaleWidth = (length: Um): Um => length + LINE + SCALE_WORDS;

/** Inks that the colour bar of a press has: its own, and the spots that the sheet's artwork brings. */
export const inksOf = ({ colour }: Pick<Press, "colour">, spots: readonly string[]): readonly (Ink | SpotInk)[] => [
  ...(colour === "cmyk"
    ? ([0, 1, 2, 3].map((plate) => {
        const [c, m, y, k] = [0, 1, 2, 3].map((one) => (one === plate ? 1 : 0)) as [number, number, number, number];
        return { space: "cmyk", c, m, y, k };
      }) satisfies Ink[])
    : [BLACK]),
  ...spots.map((name): SpotInk => ({ space: "spot", name, tint: 1 })),
];

const thinned = (ink: Ink | SpotInk, by: number): Ink | SpotInk =>
  ink.space === "cmyk"
    ? { space: "cmyk", c: ink.c * by, m: ink.m * by, y: ink.y * by, k: ink.k * by }
    : ink.space === "spot"
      ? { ...ink, tint: ink.tint * by }
      : ink;

const rectangle = (x: Um, y: Um, width: Um, height: Um): string =>
  `M ${x} ${y} L ${x + width} ${y} L ${x + width} ${y + height} L ${x} ${y + height} Z`;

/** Patch by patch, each ink solid and then thinned, in rows from below as wide as the box. */
const colourBar = ({ x, y, width }: Rect, inks: readonly (Ink | SpotInk)[]): Omit<SheetInk, "item">[] => {
  const row = Math.round(width / PATCH);
  return inks
    .flatMap((ink) => TINTS.map((tint) => thinned(ink, tint)))
    .map((ink, i) => ({
      outlines: rectangle(x + (i % row) * PATCH, y + Math.floor(i / row) * PATCH, PATCH, PATCH),
      ink,
    }));
};

/** A cross of fine lines with a square around its middle, in every ink one upon another: where they part, it shows. */
const registerTarget = ({ x, y, width }: Rect, { colour }: Pick<Press, "colour">): Omit<SheetInk, "item">[] => {
  const [cx, cy, half] = [x + width / 2, y + width / 2, LINE / 2];
  const frame = [
    rectangle(cx - SQUARE, cy - SQUARE, 2 * SQUARE, LINE),
    rectangle(cx - SQUARE, cy + SQUARE - LINE, 2 * SQUARE, LINE),
    rectangle(cx - SQUARE, cy - SQUARE, LINE, 2 * SQUARE),
    rectangle(cx + SQUARE - LINE, cy - SQUARE, LINE, 2 * SQUARE),
  ];
  const outlines = [rectangle(x, cy - half, width, LINE), rectangle(cx - half, y, LINE, width), ...frame].join(" ");
  return [{ outlines, ink: colour === "cmyk" ? { space: "spot", name: "All", tint: 1 } : BLACK }];
};

/** A ruler; standing where its box does. What it measures is from the middle of its first stroke to that of its last. */
const scaleBar = (box: Rect): Omit<SheetInk, "item">[] => {
  const upright = box.height > box.width;
  const length = Math.max(box.width, box.height) - SCALE_WORDS - LINE;
  const strokes = Array.from({ length: length / STEP + 1 }, (_, i) => {
    const high = i === 0 || i === length / STEP ? END : STROKE;
    return rectangle(i * STEP, 0, LINE, high);
  });
  const { outlines } = setLine(`${length / 1000} mm`, { size: SLUG_SIZE, at: [length + LINE + mm(1), 200] });
  const flat = [rectangle(0, 0, length + LINE, LINE), ...strokes, outlines].join(" ");
  const placed = flat.replace(/(-?[\d.]+(?:e-?\d+)?) (-?[\d.]+(?:e-?\d+)?)/g, (_, u: string, v: string) =>
    upright
      ? `${tenths(box.x + box.width - Number(v))} ${tenths(box.y + Number(u))}`
      : `${tenths(box.x + Number(u))} ${tenths(box.y + Number(v))}`,
  );
  return [{ outlines: placed, ink: BLACK }];
};

const tenths = (um: number): number => Math.round(um * 10) / 10;

/** The shapes of an item in its box. */
export const drawItem = (item: WasteItem, box: Rect, press: Press, spots: readonly string[]): SheetInk[] => {
  const drawn =
    item === "colourBar"
      ? colourBar(box, inksOf(press, spots))
      : item === "registerTarget"
        ? registerTarget(box, press)
        : scaleBar(box);
  return drawn.map((one) => ({ ...one, item }));
};
