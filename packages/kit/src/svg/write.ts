// The pruned drawing back to text: every element carries its own styles, every length is in user units, and the root is
// pixels and a viewBox in millimetres. Two traps of librsvg inside sharp are why: physical units of a root are applied
// twice when a density is given, and inner physical units are resolved at 72 to the inch instead of 96.
import { type Rect, toMm } from "@kitforme/geometry";
import { generate, parse, walk } from "./css-tree.ts";
import { Element, Text } from "domhandler";
import type { Styles } from "./cascade.ts";
import { BEGINNING, type Nested } from "./nested.ts";
import type { Pruned } from "./prune.ts";
import { walkElements } from "./parse.ts";
import type { DrawingSize } from "./size.ts";
import { parseTransform } from "./transform-list.ts";
import { PX_PER } from "./units.ts";

/** Attributes that hold lengths or lists of lengths. */
const LENGTHS = new Set(
  (
    "x y width height cx cy r rx ry x1 y1 x2 y2 dx dy fx fy fr refX refY markerWidth markerHeight textLength startOffset " +
    "font-size stroke-width stroke-dasharray stroke-dashoffset letter-spacing word-spacing kerning baseline-shift"
  ).split(" "),
);
const PHYSICAL = /([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(mm|cm|in|pt|pc|q|px)\b/gi;
const HAS_PHYSICAL = /\d\s*(mm|cm|in|pt|pc|q)\b/i;

const px = (number: string, unit: string): string => String(Number(number) * (PX_PER[unit.toLowerCase()] ?? 1));

/** Lengths of an attribute in plain user units. */
const resolved = (value: string): string => value.replace(PHYSICAL, (_, n: string, u: string) => px(n, u));

/** Lengths of a style value in px; strings and addresses are left alone. */
const resolvedStyle = (value: string): string => {
  if (!HAS_PHYSICAL.test(value)) return value;
  try {
    const tree = parse(value, { context: "value" });
    walk(tree, (node) => {
      if (node.type !== "Dimension" || !Object.hasOwn(PX_PER, node.unit.toLowerCase())) return;
      node.value = px(node.value, node.unit);
      node.unit = "px";
    });
    return generate(tree);
  } catch {
    return value;
  }
};

const escapeText = (text: string): string =>
  text.replace(/[&<>]/g, (c) => (c === "&" ? "&amp;" : c === "<" ? "&lt;" : "&gt;"));
const escapeValue = (text: string): string =>
  text.replace(/[&<"\n\r\t]/g, (c) =>
    c === "&" ? "&amp;" : c === "<" ? "&lt;" : c === '"' ? "&quot;" : `&#${c.charCodeAt(0)};`,
  );

const ROOT_ONLY = new Set([
  "x",
  "y",
  "width",
  "height",
  "viewBox",
  "preserveAspectRatio",
  "overflow",
  "version",
  "baseProfile",
]);

/** What places an image; the drawing that takes its place has it of its own. */
const PLACE = new Set(["x", "y", "width", "height", "preserveAspectRatio", "href"]);
const NONE: ReadonlySet<string> = new Set();

/** References inside the drawing, with a prefix to the names. */
const prefixed = (value: string, prefix: string): string =>
  prefix === "" ? value : value.replace(/url\(\s*(["']?)#/gi, `url($1#${prefix}`);

/**
 * Attributes of an element as they are written: foreign ones and those of `without` left out, transform as an attribute, styles
 * in one.
 */
const attributesOf = (
  element: Element,
  styles: Styles,
  without: ReadonlySet<string>,
  prefix: string,
): [string, string][] => {
  const out: [string, string][] = [];
  const winners = styles.winners(element);
  const css = winners.get("transform");
  for (const [name, value] of Object.entries(element.attribs)) {
    if (name === "style" || name === "class" || (name.includes(":") && !name.startsWith("xml:"))) continue;
    if (without.has(name)) continue;
    if (name === "href" && element.name === "a") continue;
    if (name === "transform" && css !== undefined) continue;
    if (name === "id") out.push([name, prefix + value]);
    else if (name === "href") out.push([name, value.trim().replace(/^#/, `#${prefix}`)]);
    else out.push([name, LENGTHS.has(name) ? resolved(value) : prefixed(value, prefix)]);
  }
  if (css !== undefined) {
    const read = parseTransform(css, true);
    if ("matrix" in read) out.push(["transform", `matrix(${read.matrix.join(" ")})`]);
  }
  const style = [...winners]
    .filter(([property]) => property !== "transform" && !property.startsWith("--") && !without.has(property))
    .map(([property, value]) => `${property}:${prefixed(resolvedStyle(value), prefix)}`)
    .join(";");
  if (style) out.push(["style", style]);
  return out;
};

const tag = (name: string, attributes: readonly (readonly [string, string])[], inner: string): string => {
  const head = attributes.map(([n, v]) => ` ${n}="${escapeValue(v)}"`).join("");
  return inner === "" ? `<${name}${head}/>` : `<${name}${head}>${inner}</${name}>`;
};

/** What the drawings in a drawing are written with, by their image elements, and what their names begin with. */
export interface WriteOptions {
  readonly nested: ReadonlyMap<Element, Nested>;
  readonly prefix: string;
}

/**
 * The artwork as an SVG document: the root shows `box` (micrometres of the drawing) at one root unit to the millimetre; the
 * drawing's own viewport is nested in it and shows beyond its edges, so that the designer's bleed is not cut off.
 */
export const writeArtwork = (
  pruned: Pruned,
  styles: Styles,
  size: DrawingSize,
  box: Rect,
  { nested, prefix }: WriteOptions,
): string => {
  let drawings = 0;
  let stem = "drawing";
  if (nested.size > 0) {
    const ids = [...walkElements(pruned.root)].map(({ attribs }) => attribs["id"] ?? "");
    while (ids.some((id) => id.startsWith(stem))) stem += "-";
  }
  const inPlace = (image: Element, inner: Nested): string => {
    const placed = ["x", "y", "width", "height"].flatMap((name): [string, string][] => {
      const own = styles.own(image, name)?.trim();
      const value = own === undefined || own === "auto" ? image.attribs[name] : own;
      return value === undefined ? [] : [[name, resolved(value)]];
    });
    const fit = image.attribs["preserveAspectRatio"];
    const view = `0 0 ${toMm(inner.width)} ${toMm(inner.height)}`;
    const viewport: [string, string][] = [
      ...placed,
      ["viewBox", view],
      ...(fit === undefined ? [] : [["preserveAspectRatio", fit] as [string, string]]),
      ["style", BEGINNING],
    ];
    const own = attributesOf(image, styles, PLACE, prefix);
    return tag("g", own, tag("svg", viewport, inner.write(`${prefix}${stem}${++drawings}-`)));
  };
  const write = (element: Element): string => {
    const source = pruned.source.get(element);
    const drawing = source && nested.get(source);
    if (drawing) return inPlace(source, drawing);
    const inner = element.children
      .map((c) => (c instanceof Element ? write(c) : c instanceof Text ? escapeText(c.data) : ""))
      .join("");
    if (!source) return tag(element.name, [], inner);
    const root = element === pruned.root;
    const own = attributesOf(source, styles, root ? ROOT_ONLY : NONE, prefix);
    if (!root) return tag(element.name === "a" ? "g" : element.name, own, inner);
    // The viewBox stays, as percentages are taken of it; its place is given outright, because librsvg cuts a viewport off
    // when preserveAspectRatio says slice, whatever overflow says.
    const { x, y, width, height } = size.box;
    const [a, , , d, e, f] = size.matrix;
    return tag(
      "svg",
      [
        ["x", String(a * x + e)],
        ["y", String(d * y + f)],
        ["width", String(a * width)],
        ["height", String(d * height)],
        ["viewBox", `${x} ${y} ${width} ${height}`],
        ["preserveAspectRatio", "none"],
        ["overflow", "visible"],
        ...own,
      ],
      inner,
    );
  };
  const [x, y, width, height] = [box.x, box.y, box.width, box.height].map(toMm);
  return (
    `<svg xmlns="http://www.w3.org/2000/svg" width="${width}" height="${height}" viewBox="${x} ${y} ${width} ${height}">` +
    `${write(pruned.root)}</svg>`
  );
};
