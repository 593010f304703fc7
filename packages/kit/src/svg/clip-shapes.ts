// Clips by basic shapes of CSS become clip paths with the same outline: those every renderer draws alike. The shape is counted
// from a box of the element that it clips, so the box is worked out here, by the rules of SVG 2, 8.10 and CSS Masking 1, 5.1.
import type { Matrix } from "@kitforme/geometry";
import { Element } from "domhandler";
import { ledger, type Ledger } from "../ledger.ts";
import type { Styles, Winners } from "./cascade.ts";
import { type Box, type ClipShape, isClipShape, readClipShape } from "./clip-shape.ts";
import { inherited } from "./drawn-as.ts";
import { nameOf, walkElements } from "./parse.ts";
import { around, type Bounds, boundsOf, type Pen } from "./stroke-bounds.ts";
import { type Measure, toUserUnits } from "./units.ts";
import { drawnWithin, type Walk } from "./walk.ts";

/** An element that a shape clips, where it is drawn. */
export interface ShapeClipped {
  readonly element: Element;
  readonly measure: Measure;
}

/** Whether an element is clipped by a shape, by its own styles. */
export const hasClipShape = (element: Element, styles: Styles): boolean =>
  isClipShape(styles.own(element, "clip-path") ?? "");

/** Shapes that may be looked at for the boxes of all clips together. */
const MOST_LOOKED_AT = 200_000;
/** What is drawn through these is drawn in places that are not walked here. */
const NOT_WALKED = new Set(["pattern", "mask", "clipPath", "marker"]);

class Unknown extends Error {}

interface Boxes {
  readonly walk: Walk;
  left: number;
}

/** The pen of a shape's line; undefined where it has none. */
const penOf = (element: Element, { styles, root }: Walk, measure: Measure): Pen | undefined => {
  const value = (property: string): string | undefined => inherited(element, property, styles);
  const paint = value("stroke") ?? "none";
  // A use hands its line down to what it draws; whose line that would be is not followed here.
  for (const use of walkElements(root))
    if (use.name === "use" && !/^(none|transparent)$/i.test(inherited(use, "stroke", styles) ?? "none"))
      throw new Unknown("its box is that of lines drawn through a <use>");
  if (/^(none|transparent)$/i.test(paint)) return undefined;
  const width = toUserUnits(value("stroke-width") ?? "1", "both", measure);
  if (!("value" in width)) throw new Unknown("the width of its line cannot be read");
  if (width.value <= 0) return undefined;
  const [cap, join] = [value("stroke-linecap") ?? "butt", value("stroke-linejoin") ?? "miter"];
  if (!/^(butt|round|square)$/.test(cap) || !/^(miter|round|bevel)$/.test(join))
    throw new Unknown("the corners of its line are of another kind");
  if (/non-scaling/.test(value("vector-effect") ?? "")) throw new Unknown("its line does not scale with the drawing");
  const miter = Number(value("stroke-miterlimit") ?? 4);
  return { width: width.value, cap: cap as Pen["cap"], join: join as Pen["join"], miter };
};

/** What an element draws, in its own user units, with its lines or without. */
const contentOf = (element: Element, measure: Measure, lined: boolean, boxes: Boxes): Bounds | undefined => {
  let bounds: Bounds | undefined;
  let unknown: string | undefined;
  const place = ([a, b, c, d, e, f]: Matrix, corners: readonly (readonly [number, number])[]): void => {
    for (const [x, y] of corners) {
      const [u, v] = [a * x + c * y + e, b * x + d * y + f];
      bounds = around(bounds, [u, v, u, v]);
    }
  };
  const walk: Walk = {
    ...boxes.walk,
    root: element,
    selected: new Map(),
    report: ledger({}),
    unseen: true,
    onPicture: (_, matrix, { x, y, width, height }) => {
      if (![x, y, width, height].every(Number.isFinite)) unknown = "its box is that of a picture without a size";
      else
        place(matrix, [
          [x, y],
          [x + width, y],
          [x, y + height],
          [x + width, y + height],
        ]); // prettier-ignore
    },
    onText: () => {
      unknown = "its box is that of text, which is known only once the text is set";
    },
    onElement: () => {
      if (--boxes.left < 0) unknown = "the drawing has too many clips of this kind";
    },
  };
  const reach = Math.max(Math.abs(measure.width), Math.abs(measure.height), 1);
  for (const { element: shape, data, matrix, windows } of drawnWithin(walk, [1, 0, 0, 1, 0, 0], measure)) {
    if (windows.length > 0) throw new Unknown("its box holds a drawing in the drawing");
    const own = boundsOf(data, matrix, lined ? penOf(shape, walk, measure) : undefined, reach);
    if (own === "unread") throw new Unknown("its box holds a shape that cannot be read");
    bounds = around(bounds, own);
  }
  if (unknown !== undefined) throw new Unknown(unknown);
  return bounds;
};

/** The shape's outline as path data, in the element's user units. */
const outlineOf = ({ element, measure }: ShapeClipped, shape: ClipShape, boxes: Boxes): string => {
  let box: Box | undefined;
  if (shape.box === "view-box") box = { x: 0, y: 0, width: measure.width, height: measure.height };
  else {
    const bounds = contentOf(element, measure, shape.box === "stroke-box", boxes);
    if (bounds) box = { x: bounds[0], y: bounds[1], width: bounds[2] - bounds[0], height: bounds[3] - bounds[1] };
  }
  return box ? shape.outline(box) : "";
};

/**
 * Replaces every clip by a shape with a clip path that is added to the drawing, in `defs` at its end. What cannot be worked
 * out is reported, with the reason.
 *
 * @param clipped the elements that are drawn with such a clip, once for each time
 * @returns the styles with the clips replaced
 */
export const clipShapes = (walk: Walk, clipped: readonly ShapeClipped[]): Styles => {
  const { root, styles, report } = walk;
  const boxes: Boxes = { walk, left: MOST_LOOKED_AT };
  const outlines = new Map<Element, { readonly outline: string; readonly evenOdd: boolean }>();
  const refused = new Set<Element>();
  const refuse = (element: Element, why?: string): void => {
    if (refused.has(element)) return;
    refused.add(element);
    sayNotDrawn(element, styles, report, why);
  };
  for (const one of clipped) {
    const { element } = one;
    const value = styles.own(element, "clip-path") ?? "";
    const shape = readClipShape(value, !styles.winners(element).has("clip-path"));
    if (!shape) {
      refuse(element);
      continue;
    }
    try {
      if (element.name === "svg") throw new Unknown("it clips a whole drawing");
      const outline = outlineOf(one, shape, boxes);
      const before = outlines.get(element);
      if (before && before.outline !== outline)
        throw new Unknown("it comes out otherwise wherever the element is used");
      outlines.set(element, { outline, evenOdd: shape.evenOdd });
    } catch (fault) {
      if (!(fault instanceof Unknown)) throw fault;
      refuse(element, fault.message);
    }
  }
  for (const element of walkElements(root))
    if (hasClipShape(element, styles) && !outlines.has(element) && isOutOfSight(element))
      refuse(element, "it stands in a pattern, mask, marker or clip");
  return outlines.size === 0 ? styles : withClips(root, styles, outlines);
};

const isOutOfSight = (element: Element): boolean => {
  for (let e: Element | undefined = element; e; e = e.parent instanceof Element ? e.parent : undefined)
    if (NOT_WALKED.has(e.name)) return true;
  return false;
};

const sayNotDrawn = (element: Element, styles: Styles, report: Ledger, why?: string): void => {
  const value = (styles.own(element, "clip-path") ?? "").slice(0, 120);
  report.say("value-not-drawn", { element: nameOf(element), property: "clip-path", value, ...(why ? { why } : {}) });
};

const withClips = (
  root: Element,
  styles: Styles,
  outlines: ReadonlyMap<Element, { readonly outline: string; readonly evenOdd: boolean }>,
): Styles => {
  const taken = new Set([...walkElements(root)].map(({ attribs }) => attribs["id"]));
  const names = new Map<Element, string>();
  const clips: Element[] = [];
  for (const [element, { outline, evenOdd }] of outlines) {
    let number = clips.length + 1;
    while (taken.has(`clip-shape-${number}`)) number += outlines.size;
    const id = `clip-shape-${number}`;
    taken.add(id);
    names.set(element, `url(#${id})`);
    const path = new Element("path", { d: outline, ...(evenOdd ? { "clip-rule": "evenodd" } : {}) });
    const clip = new Element("clipPath", { id }, outline === "" ? [] : [path]);
    path.parent = clip;
    clips.push(clip);
  }
  const defs = new Element("defs", {}, clips);
  for (const clip of clips) clip.parent = defs;
  defs.parent = root;
  root.children.push(defs);
  for (const [element, name] of names)
    if (element.attribs["clip-path"] !== undefined) element.attribs["clip-path"] = name;
  const settled = new Map<Element, Winners>();
  const winners = (element: Element): Winners => {
    const own = styles.winners(element);
    const name = names.get(element);
    if (name === undefined || !own.has("clip-path")) return own;
    const known = settled.get(element) ?? new Map([...own, ["clip-path", name]]);
    settled.set(element, known);
    return known;
  };
  return { winners, own: (element, property) => winners(element).get(property) ?? element.attribs[property] };
};
