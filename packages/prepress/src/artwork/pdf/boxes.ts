import type { Rect } from "@kitforme/geometry";
import { PDFArray, PDFName, PDFNumber, type PDFPageLeaf } from "../../pdf-lib.ts";

/** Left, bottom, right, top in points of the page, before it is turned. */
export type Corners = readonly [left: number, bottom: number, right: number, top: number];

/** What of a page fills the artwork's box, and how much more is shown. */
export interface PageBoxes {
  /** Fills the box. */
  readonly fills: Corners;
  /** Shown: `fills` and the designer's bleed around it. */
  readonly shown: Corners;
  /** Degrees clockwise. */
  readonly turn: 0 | 90 | 180 | 270;
  /** The box that was asked for is not there, and the crop box was taken. */
  readonly missing: boolean;
}

export type From = "trim" | "bleed" | "crop" | "media";

/** Room beyond the trim in which no crop marks can stand: their offset and length together are more (common practice, no source). */
const BLEED_AT_MOST = (5 * 72) / 25.4;

const cornersIn = (node: PDFPageLeaf, key: string, inherited: boolean): Corners | undefined => {
  const array = inherited ? node.getInheritableAttribute(PDFName.of(key)) : node.get(PDFName.of(key));
  const box = array && node.context.lookup(array);
  if (!(box instanceof PDFArray) || box.size() !== 4) return undefined;
  const four = [0, 1, 2, 3].map((i) => box.lookup(i));
  if (!four.every((one): one is PDFNumber => one instanceof PDFNumber)) return undefined;
  const [a, b, c, d] = four.map((one) => one.asNumber()) as [number, number, number, number];
  return [Math.min(a, c), Math.min(b, d), Math.max(a, c), Math.max(b, d)];
};

const within = (a: Corners, b: Corners): Corners => [
  Math.max(a[0], b[0]),
  Math.max(a[1], b[1]),
  Math.min(a[2], b[2]),
  Math.min(a[3], b[3]),
];

export const hasArea = ([left, bottom, right, top]: Corners): boolean => right - left > 0.01 && top - bottom > 0.01;

/**
 * The boxes of a page by ISO 32000, 14.11.2: Crop within Media, both inheritable; Bleed and Trim on the page itself.
 *
 * @param from left out: the trim where there is one, with the bleed around it, else the crop box
 */
export const boxesOf = (node: PDFPageLeaf, from: From | undefined): PageBoxes => {
  const media: Corners = cornersIn(node, "MediaBox", true) ?? [0, 0, 612, 792];
  const crop = within(cornersIn(node, "CropBox", true) ?? media, media);
  const own = (key: string): Corners | undefined => {
    const box = cornersIn(node, key, false);
    const inside = box && within(box, media);
    return inside && hasArea(inside) ? inside : undefined;
  };
  const [bleed, trim] = [own("BleedBox"), own("TrimBox")];
  const degrees = node.Rotate()?.asNumber() ?? 0;
  const turn = ((((Math.round(degrees / 90) * 90) % 360) + 360) % 360) as PageBoxes["turn"];
  const all = (box: Corners, missing = false): PageBoxes => ({ fills: box, shown: box, turn, missing });
  if (from === "media") return all(media);
  if (from === "crop") return all(crop);
  if (from === "bleed") return bleed ? all(bleed) : all(crop, true);
  if (!trim) return all(crop, from === "trim");
  return { fills: trim, shown: bleed ? around(trim, bleed) : roomFor(trim, crop), turn, missing: false };
};

/** The bleed box where it goes around the trim. */
const around = (trim: Corners, bleed: Corners): Corners => [
  Math.min(trim[0], bleed[0]),
  Math.min(trim[1], bleed[1]),
  Math.max(trim[2], bleed[2]),
  Math.max(trim[3], bleed[3]),
];

/** Without a bleed box: what lies around the trim is bleed only where no marks can stand. */
const roomFor = (trim: Corners, crop: Corners): Corners => {
  const most = Math.max(trim[0] - crop[0], trim[1] - crop[1], crop[2] - trim[2], crop[3] - trim[3]);
  return most <= BLEED_AT_MOST ? around(trim, crop) : trim;
};

/** Width and height as shown, points. */
export const shownSize = ([left, bottom, right, top]: Corners, turn: number): readonly [number, number] =>
  turn % 180 === 0 ? [right - left, top - bottom] : [top - bottom, right - left];

/** Where all that is shown goes when `fills` goes into `box`; same units as `box`, fractional. */
export const placeOf = ({ fills, shown, turn }: PageBoxes, box: Rect): Rect => {
  const [left, bottom, right, top] = [
    fills[0] - shown[0],
    fills[1] - shown[1],
    shown[2] - fills[2],
    shown[3] - fills[3],
  ];
  // Clockwise: what was left is on top.
  const [l, t, r, b] =
    turn === 90
      ? [bottom, left, top, right]
      : turn === 180
        ? [right, bottom, left, top]
        : turn === 270
          ? [top, right, bottom, left]
          : [left, top, right, bottom];
  const [wide, high] = shownSize(fills, turn);
  const [perX, perY] = [box.width / wide, box.height / high];
  return {
    x: box.x - l * perX,
    y: box.y - t * perY,
    width: box.width + (l + r) * perX,
    height: box.height + (t + b) * perY,
  };
};

/** From a page's points to the place it fills. */
export const toPlace = ({ shown: [left, bottom, right, top], turn }: PageBoxes, place: Rect) => {
  return (x: number, y: number): readonly [number, number] => {
    const [u, v] = [(x - left) / (right - left), (y - bottom) / (top - bottom)];
    const [across, down] =
      turn === 90 ? [v, u] : turn === 180 ? [1 - u, v] : turn === 270 ? [1 - v, 1 - u] : [u, 1 - v];
    return [place.x + across * place.width, place.y + down * place.height];
  };
};
