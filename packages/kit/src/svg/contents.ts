// What a drawing prints beside its shapes: pictures and texts, in the order in which they are written, with their places.
import { apply, type Matrix } from "@kitforme/geometry";
import type { Element } from "domhandler";
import type { PlacedPicture, PlacedText, PrintedStroke } from "../kit.ts";
import { type Nested, placedPicture, placedStroke, placedText, placing } from "./nested.ts";
import { nameOf, walkElements } from "./parse.ts";
import type { Pruned } from "./prune.ts";
import type { Placed } from "./walk.ts";

/** Pictures and texts of a drawing that is written as SVG. */
export interface Contents {
  /** Pictures of pixels in the artwork. */
  readonly pictures: readonly PlacedPicture[];
  /** Texts in the artwork that are still set in type, in the order of their elements. */
  readonly texts: readonly PlacedText[];
  /** Pictures of pixels that the SVG embeds. */
  readonly embedded: number;
}

/** Micrometres to millimetres, to the micrometre. */
export const millimetres = ([x, y]: readonly [number, number]): readonly [number, number] => [
  Math.round(x) / 1000,
  Math.round(y) / 1000,
];

/** A picture of pixels or a drawing in the drawing, where it is drawn. */
export interface PlacedImage {
  readonly element: Element;
  readonly matrix: Matrix;
  readonly place: Placed;
}

/** Pictures and texts of what was kept, in the order in which they are written, those of drawings in it among them. */
export const contentsOf = (
  { root, source }: Pruned,
  {
    pixels,
    nested,
    placed,
    texts,
  }: {
    readonly pixels: ReadonlySet<Element>;
    readonly nested: ReadonlyMap<Element, Nested>;
    readonly placed: readonly PlacedImage[];
    readonly texts: ReadonlyMap<Element, Omit<PlacedText, "name">>;
  },
): Contents => {
  const places = new Map<Element, PlacedImage[]>();
  for (const one of placed) {
    const those = places.get(one.element);
    if (those) those.push(one);
    else places.set(one.element, [one]);
  }
  const found = { pictures: [] as PlacedPicture[], texts: [] as PlacedText[], embedded: 0 };
  for (const twin of walkElements(root)) {
    const element = source.get(twin);
    if (!element) continue;
    const here = places.get(element) ?? [];
    const inner = nested.get(element);
    if (twin.name === "text") found.texts.push({ name: nameOf(element), at: undefined, ...texts.get(element) });
    else if (pixels.has(element)) {
      const nth = found.embedded++;
      for (const { matrix, place } of here) found.pictures.push({ ...pictureAt(element, matrix, place), nth });
    } else if (inner) {
      const matrices = here.flatMap(({ matrix, place }) => {
        const moved = placing(element, matrix, place, inner);
        return moved ? [moved] : [];
      });
      for (const matrix of matrices)
        for (const one of inner.pictures)
          found.pictures.push({ ...placedPicture(one, matrix), nth: found.embedded + one.nth });
      found.texts.push(...inner.texts.map((one) => placedText(one, matrices[0])));
      found.embedded += inner.embedded;
    }
  }
  return found;
};

/** Thin strokes of the drawings in what was kept. */
export const strokesWithin = (
  { source }: Pruned,
  nested: ReadonlyMap<Element, Nested>,
  placed: readonly PlacedImage[],
): PrintedStroke[] => {
  const kept = new Set(source.values());
  return placed.flatMap(({ element, matrix, place }) => {
    const inner = kept.has(element) ? nested.get(element) : undefined;
    const moved = inner && placing(element, matrix, place, inner);
    return inner && moved ? inner.strokes.map((one) => placedStroke(one, moved)) : [];
  });
};

const pictureAt = (element: Element, m: Matrix, place: Placed): Omit<PlacedPicture, "nth"> => {
  const [a, b, c, d] = m;
  const { x, y, width, height } = place;
  return {
    name: nameOf(element),
    at: millimetres(apply(m, x + width / 2, y + height / 2)),
    size: [Math.round(width * Math.hypot(a, b)), Math.round(height * Math.hypot(c, d))],
  };
};
