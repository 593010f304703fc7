import { type Matrix, multiply } from "@kitforme/geometry";
import { declarationsOf } from "../artwork/svg-tags.ts";
import { nameIn, numberOf, transformOf } from "./attributes.ts";
import type { Element, NormalDrawing } from "./normal-tree.ts";
import { around, type Bounds, boundsOf, readPath, type Segment } from "./path.ts";
import { readClip } from "./read-clip.ts";
import { readGradient, rgbOf } from "./read-gradient.ts";
import { type Fill, type Item, Obstacle, type Paint, type Stroke } from "./shapes.ts";

/** Elements nested deeper than this are an accident. */
const DEEPEST = 400;

/**
 * What a drawing paints, bottom to top, in the space of a page.
 *
 * @param toPage from the drawing's user units to the page
 * @throws Obstacle at the first thing that a page of ours does not express as SVG means it
 */
export const readDrawing = ({ root, named }: NormalDrawing, toPage: Matrix): readonly Item[] =>
  itemsOf(root.children, toPage, { named, depth: 0 });

interface Scope {
  readonly named: NormalDrawing["named"];
  readonly depth: number;
}

const itemsOf = (elements: readonly Element[], matrix: Matrix, scope: Scope): Item[] =>
  elements.flatMap((element) => {
    if (element.name === "g") return groupOf(element, matrix, scope);
    if (element.name === "path") return shapeOf(element, matrix, scope);
    if (element.name === "defs") return [];
    const what = element.name === "image" ? "a picture in it" : `an element ${element.name}`;
    throw new Obstacle(what, boundsIn(element, matrix));
  });

const groupOf = (element: Element, outer: Matrix, { named, depth }: Scope): Item[] => {
  const { attributes, children } = element;
  if (depth > DEEPEST) throw new Obstacle("groups nested very deep");
  const matrix = multiply(outer, transformOf(attributes.get("transform")));
  const where = (): Bounds | undefined => boundsIn(element, outer);
  if (attributes.has("filter")) throw new Obstacle("an effect (filter)", where());
  if (attributes.has("mask")) throw new Obstacle("a mask", where());
  const mode = declarationsOf(attributes.get("style")).find(([name]) => name === "mix-blend-mode")?.[1] ?? "normal";
  if (mode !== "normal") throw new Obstacle(`the blend mode ${mode}`, where());
  const clipName = attributes.get("clip-path");
  const clips = clipName === undefined ? [] : readClip(nameIn(clipName), named, matrix, () => insideOf(children));
  if (!clips) return [];
  const items = itemsOf(children, matrix, { named, depth: depth + 1 });
  const opacity = numberOf(attributes.get("opacity"), 1);
  if (items.length === 0 || opacity <= 0) return [];
  const [only] = items;
  if (opacity >= 1 && clips.length === 0) return items;
  // One fill or one line mixes alike by itself and in a group.
  if (items.length === 1 && only?.kind === "shape" && clips.length === 0 && !(only.fill && only.stroke)) {
    const { fill, stroke } = only;
    return [
      {
        ...only,
        ...(fill ? { fill: { ...fill, opacity: fill.opacity * opacity } } : {}),
        ...(stroke ? { stroke: { ...stroke, opacity: stroke.opacity * opacity } } : {}),
      },
    ];
  }
  return [{ kind: "group", opacity: Math.min(1, opacity), clips, items }];
};

const shapeOf = ({ attributes }: Element, outer: Matrix, { named }: Scope): Item[] => {
  if (attributes.get("visibility") === "hidden" || attributes.get("visibility") === "collapse") return [];
  const matrix = multiply(outer, transformOf(attributes.get("transform")));
  const path = readPath(attributes.get("d") ?? "");
  if (!path) throw new Obstacle("a path that is written in an unknown way");
  if (path.length === 0) return [];
  const bounds = boundsOf(path, [1, 0, 0, 1, 0, 0]) as Bounds;
  const shown = boundsOf(path, matrix);
  try {
    const width = numberOf(attributes.get("stroke-width"), 1);
    const fill = fillOf(attributes, (value) => paintOf(value, named, matrix, bounds, bounds));
    // A miter reaches as far as its limit; round numbers up, stripes beyond it are never seen.
    const beyond = (width / 2) * Math.max(1.5, numberOf(attributes.get("stroke-miterlimit"), 4));
    const [l, t, r, b] = bounds;
    const reach: Bounds = [l - beyond, t - beyond, r + beyond, b + beyond];
    const stroke = strokeOf(attributes, width, (value) => paintOf(value, named, matrix, bounds, reach));
    if (!fill && !stroke) return [];
    const strokeFirst = attributes.get("paint-order")?.trim().startsWith("stroke") ?? false;
    return [{ kind: "shape", path, matrix, ...(fill ? { fill } : {}), ...(stroke ? { stroke } : {}), strokeFirst }];
  } catch (error) {
    throw error instanceof Obstacle && !error.bounds ? new Obstacle(error.message, shown) : error;
  }
};

type Attributes = Element["attributes"];

const fillOf = (attributes: Attributes, paint: (value: string) => Paint): Fill | undefined => {
  const value = attributes.get("fill") ?? "#000000";
  const opacity = numberOf(attributes.get("fill-opacity"), 1);
  if (value === "none" || opacity <= 0) return undefined;
  return { paint: paint(value), opacity: Math.min(1, opacity), evenOdd: attributes.get("fill-rule") === "evenodd" };
};

const CAPS: Readonly<Record<string, 0 | 1 | 2>> = { butt: 0, round: 1, square: 2 };
const JOINS: Readonly<Record<string, 0 | 1 | 2>> = { miter: 0, round: 1, bevel: 2 };

const strokeOf = (attributes: Attributes, width: number, paint: (value: string) => Paint): Stroke | undefined => {
  const value = attributes.get("stroke") ?? "none";
  const opacity = numberOf(attributes.get("stroke-opacity"), 1);
  if (value === "none" || opacity <= 0 || width <= 0) return undefined;
  if (attributes.has("vector-effect")) throw new Obstacle("a line whose width does not scale");
  const cap = CAPS[attributes.get("stroke-linecap") ?? "butt"];
  const join = JOINS[attributes.get("stroke-linejoin") ?? "miter"];
  if (cap === undefined || join === undefined) throw new Obstacle("a line with ends or corners of another kind");
  const written = attributes.get("stroke-dasharray") ?? "none";
  const dash =
    written === "none"
      ? []
      : written
          .trim()
          .split(/[\s,]+/)
          .map(Number);
  const sum = dash.reduce((all, one) => all + one, 0);
  if (!dash.every((one) => Number.isFinite(one) && one >= 0)) throw new Obstacle("dashes of unknown lengths");
  const round = dash.length % 2 === 0 ? sum : 2 * sum;
  const offset = numberOf(attributes.get("stroke-dashoffset"), 0);
  return {
    paint: paint(value),
    opacity: Math.min(1, opacity),
    width,
    cap,
    join,
    miter: Math.max(1, numberOf(attributes.get("stroke-miterlimit"), 4)),
    dash: sum > 0 ? dash : [],
    // A page wants no negative start.
    offset: sum > 0 ? ((offset % round) + round) % round : 0,
  };
};

const paintOf = (
  value: string,
  named: NormalDrawing["named"],
  matrix: Matrix,
  bounds: Bounds,
  reach: Bounds,
): Paint => {
  if (!value.startsWith("url(")) return rgbOf(value);
  const element = named.get(nameIn(value) ?? "");
  if (element?.name === "pattern") throw new Obstacle("a pattern");
  if (element?.name !== "linearGradient" && element?.name !== "radialGradient")
    throw new Obstacle("paint that is not there");
  return readGradient(element, matrix, bounds, reach);
};

/** Bounds of the paths in some elements, in the units around them. */
const insideOf = (elements: readonly Element[]): Bounds | undefined =>
  elements.reduce<Bounds | undefined>((all, one) => around(all, boundsIn(one, [1, 0, 0, 1, 0, 0])), undefined);

/** Bounds of what an element draws, lines taken without their width. */
const boundsIn = ({ name, attributes, children }: Element, outer: Matrix): Bounds | undefined => {
  const matrix = multiply(outer, transformOf(attributes.get("transform")));
  if (name === "path") {
    const path = readPath(attributes.get("d") ?? "");
    return path && boundsOf(path, matrix);
  }
  if (name === "image") {
    const [x, y, w, h] = ["x", "y", "width", "height"].map((key) => numberOf(attributes.get(key), 0)) as [
      number,
      number,
      number,
      number,
    ];
    return boundsOf(rectangle(x, y, w, h), matrix);
  }
  return children.reduce<Bounds | undefined>((all, one) => around(all, boundsIn(one, matrix)), undefined);
};

const rectangle = (x: number, y: number, width: number, height: number): Segment[] => [
  { command: "M", points: [x, y] },
  { command: "L", points: [x + width, y] },
  { command: "L", points: [x + width, y + height] },
  { command: "L", points: [x, y + height] },
];
