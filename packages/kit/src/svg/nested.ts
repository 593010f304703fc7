// Drawings in a drawing. Most are written out in the place of their <image>, as a drawing of their own: their text is then set,
// their pictures judged and their shapes kept as vectors like all the rest. Only where an effect takes its measure from the
// image as a rectangle they stay pictures.
import { apply, type Matrix, multiply, type Rect } from "@kitforme/geometry";
import { Element } from "domhandler";
import type { PlacedPicture, PlacedText, PrintedStroke } from "../kit.ts";
import type { Styles } from "./cascade.ts";
import { inherited } from "./drawn-as.ts";
import type { Ids } from "./references.ts";
import { MM_PER_PX, toUserUnits } from "./units.ts";
import { DEFAULT_FIT, fitMatrix, parseFit } from "./viewport.ts";
import type { Placed } from "./walk.ts";

/** A drawing that is written in the place of an image. */
export interface Nested {
  /** The drawing as an SVG document; its ids begin with the prefix. */
  readonly write: (prefix: string) => string;
  /** Micrometres. */
  readonly width: number;
  readonly height: number;
  /** Pictures of pixels that it embeds, and those of them that are drawn, and its texts, in its own space. */
  readonly embedded: number;
  readonly pictures: readonly PlacedPicture[];
  readonly texts: readonly PlacedText[];
  readonly strokes: readonly PrintedStroke[];
  /** How much there is to draw. */
  readonly elements: number;
}

/** What an element inherits, set back to where a drawing of its own begins; `reset` ends what comes down in fonts. */
export const BEGINNING =
  "fill:#000;fill-opacity:1;fill-rule:nonzero;stroke:none;stroke-opacity:1;stroke-width:1;stroke-dasharray:none;stroke-dashoffset:0;" +
  "stroke-linecap:butt;stroke-linejoin:miter;stroke-miterlimit:4;paint-order:normal;clip-rule:nonzero;color:#000;marker-start:none;" +
  "marker-mid:none;marker-end:none;color-interpolation-filters:linearRGB;font-family:initial;font-size:12px;font-style:normal;" +
  "font-weight:400;font-stretch:normal;font-variant:normal;letter-spacing:0;word-spacing:0;text-anchor:start";

const isNone = (value: string | undefined): boolean => value === undefined || /^\s*(none)?\s*$/i.test(value);

/** Whether nothing on an image and around it is measured by the image's own rectangle. */
export const standsInPlace = (image: Element, styles: Styles, ids: Ids): boolean => {
  if (image.name !== "image") return false;
  for (let e: Element | undefined = image; e; e = e.parent instanceof Element ? e.parent : undefined) {
    if (!isNone(styles.own(e, "filter")) || !isNone(styles.own(e, "mask"))) return false;
    const clip = /url\(\s*["']?#([^"')]*)/.exec(styles.own(e, "clip-path") ?? "")?.[1]?.trim();
    if (clip !== undefined && ids.get(clip)?.attribs["clipPathUnits"] === "objectBoundingBox") return false;
    // Inside of these an image is not drawn where it stands, and may not be more than a shape.
    if (/^(clipPath|mask|pattern|marker)$/.test(e.name)) return false;
  }
  // What is hidden as a whole must not be seen in parts.
  return !/^(hidden|collapse)$/i.test(inherited(image, "visibility", styles) ?? "visible");
};

/** Gives an image that has none the size of its drawing: in pixels, or in the proportions of the side that it has. */
export const giveSize = (image: Element, styles: Styles, { width, height }: Pick<Nested, "width" | "height">): void => {
  const sideOf = (side: "width" | "height"): string | undefined => {
    const value = styles.own(image, side)?.trim();
    return value === undefined || value === "" || value === "auto" ? undefined : value;
  };
  const [wide, high] = [sideOf("width"), sideOf("height")];
  const measure = { width: Number.NaN, height: Number.NaN, fontSize: 16 };
  const other = (given: string, axis: "x" | "y", ratio: number): string | undefined => {
    const length = toUserUnits(given, axis, measure);
    return "value" in length && Number.isFinite(length.value) ? String(length.value * ratio) : undefined;
  };
  const px = (um: number): string => String(um / 1000 / MM_PER_PX);
  const set = (side: "width" | "height", value: string | undefined): void => {
    if (value !== undefined) image.attribs[side] = value;
  };
  if (wide === undefined) set("width", high === undefined ? px(width) : other(high, "y", width / height));
  if (high === undefined) set("height", wide === undefined ? px(height) : other(wide, "x", height / width));
};

/** From the drawing's micrometres to those of the drawing around it. */
export const placing = (
  image: Element,
  outer: Matrix,
  place: Placed,
  { width, height }: Nested,
): Matrix | undefined => {
  const fit = parseFit(image.attribs["preserveAspectRatio"] ?? "") ?? DEFAULT_FIT;
  if (!(place.width > 0 && place.height > 0 && width > 0 && height > 0)) return undefined;
  const box: Rect = { x: 0, y: 0, width, height };
  return multiply(outer, fitMatrix(box, fit, place.x, place.y, place.width, place.height));
};

const millimetres = (m: Matrix, [x, y]: readonly [number, number]): readonly [number, number] => {
  const [u, v] = apply(m, x * 1000, y * 1000);
  return [Math.round(u) / 1000, Math.round(v) / 1000];
};

/** A picture of the drawing, where it is drawn in the drawing around it. */
export const placedPicture = (one: PlacedPicture, m: Matrix): Omit<PlacedPicture, "nth"> => ({
  name: one.name,
  at: millimetres(m, one.at),
  size: [Math.round(one.size[0] * Math.hypot(m[0], m[1])), Math.round(one.size[1] * Math.hypot(m[2], m[3]))],
});

/** A text of the drawing, where it is drawn in the drawing around it; no place where that is not known. */
export const placedText = (one: PlacedText, m: Matrix | undefined): PlacedText => {
  const { mirrored, ...text } = one;
  const over = (m !== undefined && m[0] * m[3] - m[1] * m[2] < 0) !== (mirrored === true);
  return { ...text, at: m && one.at ? millimetres(m, one.at) : undefined, ...(over ? { mirrored: true } : {}) };
};

/** A thin stroke of the drawing, where it runs in the drawing around it. */
export const placedStroke = (one: PrintedStroke, m: Matrix): PrintedStroke => ({
  ...one,
  width: one.width * Math.sqrt(Math.abs(m[0] * m[3] - m[1] * m[2])),
  points: one.points.map(({ x, y }) => {
    const [u, v] = apply(m, x, y);
    return { x: Math.round(u), y: Math.round(v) };
  }),
});
