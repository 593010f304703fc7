// Clips that programs put around a whole page or frame: a rectangle. Lines that lie inside it are whole, and are worked.
import { IDENTITY, type Matrix, multiply } from "@kitforme/geometry";
import type { Element } from "domhandler";
import { ledger } from "../ledger.ts";
import type { Styles } from "./cascade.ts";
import { linesOf } from "./line-of.ts";
import { elementsOf, nameOf } from "./parse.ts";
import { pathDataOf, SHAPES } from "./path-data.ts";
import { type Ids, targetOf } from "./references.ts";
import { ownTransform } from "./own-transform.ts";
import type { Measure } from "./units.ts";
import type { Window } from "./window.ts";

/** A number of steps for the longer side of what is measured against: the reader of lines rounds to whole ones. */
const FINE = 1_000_000;

/** Characters of a rectangle's outline; longer ones are none, and reading them for every use would take long. */
const LONGEST = 1000;

const NAMED = /^\s*url\(\s*(["']?)#([^"')]+)\1\s*\)\s*$/;

const hides = (element: Element, styles: Styles): boolean =>
  styles.own(element, "display")?.trim() === "none" ||
  !/^\s*(visible|inherit)?\s*$/.test(styles.own(element, "visibility") ?? "");

const cuts = (element: Element, styles: Styles): boolean =>
  ["clip-path", "mask"].some((property) => !/^\s*(none)?\s*$/.test(styles.own(element, property) ?? ""));

const ownMatrix = (element: Element, styles: Styles): Matrix | undefined => {
  const own = ownTransform(element, styles);
  if (!own) return IDENTITY;
  return "matrix" in own.read ? own.read.matrix : undefined;
};

/** The rectangle that path data draws with its sides along the axes, in its own user units; undefined for anything else. */
const rectangleOf = (data: string, reach: number): Omit<Window, "matrix" | "name"> | undefined => {
  const scale = FINE / reach;
  const read = linesOf(data, [scale, 0, 0, scale, 0, 0]);
  if ("why" in read || read.lines.length !== 1) return undefined;
  const points = read.lines[0]?.points ?? [];
  const [first, last] = [points[0], points.at(-1)];
  const corners = first && last && points.length === 5 && first.x === last.x && first.y === last.y ? 4 : points.length;
  if (!first || corners !== 4) return undefined;
  const [xs, ys] = [points.map(({ x }) => x), points.map(({ y }) => y)];
  const [left, right, top, bottom] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  const inCorners = points.every(({ x, y }) => (x === left || x === right) && (y === top || y === bottom));
  const alongSides = points.every((p, i) => {
    const next = points[(i + 1) % points.length] ?? first;
    return p.x === next.x || p.y === next.y;
  });
  if (!inCorners || !alongSides || left === right || top === bottom) return undefined;
  return { x: left / scale, y: top / scale, width: (right - left) / scale, height: (bottom - top) / scale };
};

/**
 * The window that a clip leaves open, where its path is one rectangle (SVG 1.1, 14.3.5).
 *
 * @param element what is clipped
 * @param value its `clip-path`
 * @param matrix its user units to micrometres
 * @returns undefined for every other clip
 */
export const clipWindow = (
  element: Element,
  value: string,
  { styles, ids }: { readonly styles: Styles; readonly ids: Ids },
  { matrix, measure }: { readonly matrix: Matrix; readonly measure: Measure },
): Window | undefined => {
  const clip = ids.get(NAMED.exec(value)?.[2] ?? "");
  if (clip?.name !== "clipPath" || cuts(clip, styles)) return undefined;
  if (!/^\s*(userSpaceOnUse)?\s*$/.test(clip.attribs["clipPathUnits"] ?? "")) return undefined;
  const drawn = elementsOf(clip).filter(({ name }) => name === "use" || SHAPES.has(name));
  const [named] = drawn;
  if (!named || drawn.length !== 1) return undefined;
  // A use without a place of its own, as programs write it; what else it may be is not looked into.
  const placed = ["x", "y", "width", "height"].some((side) => named.attribs[side] !== undefined);
  const shape = named.name === "use" ? (placed ? undefined : targetOf(named, ids)) : named;
  if (!shape || !SHAPES.has(shape.name)) return undefined;
  if ((styles.own(shape, "d") ?? "").length + (shape.attribs["points"] ?? "").length > LONGEST) return undefined;
  let inner = matrix;
  for (const one of new Set([clip, named, shape])) {
    const own = ownMatrix(one, styles);
    if (!own || hides(one, styles) || (one !== clip && cuts(one, styles))) return undefined;
    inner = multiply(inner, own);
  }
  const data = pathDataOf(shape, styles, measure, ledger({}));
  const reach = Math.max(Math.abs(measure.width), Math.abs(measure.height), 1);
  const rectangle = data === undefined ? undefined : rectangleOf(data, reach);
  return rectangle && { ...rectangle, matrix: inner, name: `the clip on ${nameOf(element)}` };
};
