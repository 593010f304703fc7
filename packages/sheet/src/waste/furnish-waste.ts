import { inset, mm, type Path, placeAll, type Rect, ringsOf, type Um } from "@kitforme/geometry";
import type { Press, Stock } from "@kitforme/kit";
import type { Furniture } from "../furniture.ts";
import { printableOf, type SheetSize } from "../marks.ts";
import type { Placed, SheetInk, SheetLine, Waste, WasteItem } from "../sheet.ts";
import { drawItem, inksOf, PATCH, SCALE_HEIGHT, SCALES, scaleWidth, TARGET } from "./draw-item.ts";
import { freeRoom } from "./free-room.ts";

/** What the waste of a sheet carries, as shapes of the front too, and the spot inks among them. */
export interface Furnished {
  readonly waste: Waste;
  readonly inks: readonly SheetInk[];
  readonly spots: readonly string[];
}

/** Paper left around an item: to bleeds and cuts, and to the next item. */
const GAP: Um = mm(1);
/** Paper left beyond the blank zone of a mark, so that the cutter's camera meets nothing but its mark (common practice, no source). */
const OFF_MARKS: Um = mm(5);

type Size = { readonly width: Um; readonly height: Um };

const lying = ({ width, height }: Size): Size[] => [
  { width, height },
  { width: height, height: width },
];

/** Sizes that an item may take, the best first. */
const sizesOf = (item: WasteItem, press: Press, spots: readonly string[]): Size[] => {
  if (item === "registerTarget") return [{ width: TARGET, height: TARGET }];
  if (item === "scaleBar") return SCALES.flatMap((scale) => lying({ width: scaleWidth(scale), height: SCALE_HEIGHT }));
  const patches = 2 * inksOf(press, spots).length;
  // One row, then two of half the length; a pair of patches is not parted.
  const half = 2 * Math.ceil(patches / 4);
  return [
    ...lying({ width: patches * PATCH, height: PATCH }),
    ...(half < patches ? lying({ width: half * PATCH, height: Math.ceil(patches / half) * PATCH }) : []),
  ];
};

/** Spots of the artwork on both sides, by name; inks of the process are no spots. */
const PROCESS = new Set(["Cyan", "Magenta", "Yellow", "Black", "None", "All"]);
const spotsOn = (placed: readonly Placed[]): string[] =>
  [...new Set(placed.flatMap(({ prepared }) => Object.keys({ ...prepared.spots, ...prepared.back?.spots })))]
    .filter((spot) => !PROCESS.has(spot))
    .sort();

/**
 * What the press asks for in the waste: colour bar, register targets at two ends, ruler, each where the waste has room beside
 * pieces, lines, marks, code and slug. The layout is made without them, and none of it gives way.
 * @param ways further cuts in the waste
 * @returns undefined where the press asks for nothing
 */
export const furnishWaste = (
  stock: Stock,
  press: Press,
  size: SheetSize,
  sheet: {
    readonly placed: readonly Placed[];
    readonly lines: readonly SheetLine[];
    readonly ways: readonly Path<"sheet">[];
    readonly furniture: Furniture;
  },
): Furnished | undefined => {
  const items = (["colourBar", "registerTarget", "scaleBar"] as const).filter((item) => press[item]);
  if (items.length === 0) return undefined;
  const { placed, lines, ways, furniture } = sheet;
  const spots = spotsOn(placed);
  const room = freeRoom(
    printableOf(stock, size),
    placed.flatMap(({ matrix, prepared }) => ringsOf(prepared.reach).map((ring) => placeAll(matrix, ring))),
    [...lines.map(({ closed, points }) => (closed ? [...points, ...points.slice(0, 1)] : points)), ...ways],
  );
  for (const zone of furniture.zones) room.take(inset(zone, -OFF_MARKS));
  for (const box of [furniture.code.zone, furniture.slug]) room.take(box);
  const gap = Math.max(GAP, stock.cutter.clearance) + stock.cutter.path.bladeOffset;

  const found: { item: WasteItem; box: Rect }[] = [];
  const left: Waste["left"][number][] = [];
  for (const item of items) {
    const sizes = sizesOf(item, press, spots);
    const places = item === "registerTarget" ? (["lower", "upper"] as const) : (["lower"] as const);
    let none = true;
    for (const from of places) {
      let box: Rect | undefined;
      for (const one of sizes) box ??= room.find(one, gap, from);
      if (!box) continue;
      room.take(box);
      found.push({ item, box });
      none = false;
    }
    const least = sizes.at(-1);
    if (none && least) left.push({ item, ...least });
  }
  const inks = found.flatMap(({ item, box }) => drawItem(item, box, press, spots));
  return { waste: { placed: found, left }, inks, spots };
};
