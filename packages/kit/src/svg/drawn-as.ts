// How lines and strokes of a drawing are painted: what the checks need to know beyond where lines run.
import type { Matrix } from "@kitforme/geometry";
import { Element } from "domhandler";
import type { DrawnAs, Operation, PrintedStroke } from "../kit.ts";
import { ledger } from "../ledger.ts";
import { placeOf } from "../numbers.ts";
import type { Styles } from "./cascade.ts";
import { linesOf } from "./line-of.ts";
import { nameOf, walkElements } from "./parse.ts";
import { SHAPES } from "./path-data.ts";
import type { Ids } from "./references.ts";
import { toUserUnits } from "./units.ts";
import { type Drawn, drawnLines } from "./walk.ts";

/** Strokes wider than this are ornaments, not lines for a die. Millimetres. */
const THICKEST = 1;
/** Strokes that are looked at; a die line is one of the first few in any drawing, lace of ornaments has more. */
const MOST_STROKES = 2_000;

const parentOf = (element: Element): Element | undefined =>
  element.parent instanceof Element ? element.parent : undefined;

/** A property as it comes down the tree to an element; undefined where nobody gives it. */
export const inherited = (element: Element, property: string, styles: Styles): string | undefined => {
  for (let e: Element | undefined = element; e; e = parentOf(e)) {
    const value = styles.own(e, property)?.trim();
    if (value !== undefined && value !== "" && value !== "inherit") return value;
  }
  return undefined;
};

const isNone = (paint: string | undefined): boolean => paint === undefined || /^(none|transparent)$/i.test(paint);
const isWhite = (paint: string): boolean => /^(white|#fff|#ffffff|rgb\(\s*255\s*,\s*255\s*,\s*255\s*\))$/i.test(paint);
const isNothing = (share: string | undefined): boolean => share !== undefined && Number.parseFloat(share) === 0;

/** A dash pattern that leaves gaps. */
const gaps = (dashes: string | undefined): boolean =>
  dashes !== undefined && !/^none$/i.test(dashes) && (dashes.match(/\d*\.?\d+/g) ?? []).some((n) => Number(n) > 0);

/** Neither stroked nor filled. A shape that is drawn through a use takes its paint from there, and is not judged. */
const unpainted = (element: Element, selected: Element, styles: Styles): boolean => {
  for (let e: Element | undefined = element; e !== selected; e = parentOf(e)) if (!e) return false;
  const fill = inherited(element, "fill", styles);
  return fill !== undefined && isNone(fill) && isNone(inherited(element, "stroke", styles));
};

const startOf = ({ data, matrix }: Drawn): readonly [number, number] | undefined => {
  const read = linesOf(data, matrix);
  const first = "lines" in read ? read.lines[0]?.points[0] : undefined;
  return first && placeOf(first);
};

/**
 * Lines that are painted as if they were something else: dashed cuts, cuts that are filled with a colour, and lines that nobody
 * sees among others that are seen.
 */
export const paintedLines = (drawn: readonly Drawn[], styles: Styles): Omit<DrawnAs, "strokes"> => {
  const of = (wanted: readonly Operation[], paint: (element: Element) => string | undefined) =>
    drawn.flatMap((one) => {
      if (!wanted.includes(one.operation)) return [];
      const painted = paint(one.element);
      const at = painted === undefined ? undefined : startOf(one);
      return painted !== undefined && at
        ? [{ element: nameOf(one.element), operation: one.operation, paint: painted, at }]
        : [];
    });
  const unseen = new Set(
    drawn.flatMap(({ element, selected }) => (unpainted(element, selected, styles) ? [element] : [])),
  );
  const seen = new Set(drawn.flatMap(({ element, operation }) => (unseen.has(element) ? [] : [operation])));
  return {
    unseen: of([...seen], (element) => (unseen.has(element) ? "none" : undefined)),
    dashed: of(["cutting", "partialCutting"], (element) => {
      const dashes = inherited(element, "stroke-dasharray", styles);
      return gaps(dashes) && !isNone(inherited(element, "stroke", styles)) ? dashes : undefined;
    }),
    // A fill that nobody wrote is black by the standard, and says nothing of what the designer meant.
    filled: of(["cutting"], (element) => {
      const fill = inherited(element, "fill", styles);
      const seen = !isNothing(inherited(element, "fill-opacity", styles)) && !isNothing(styles.own(element, "opacity"));
      return fill !== undefined && !isNone(fill) && !isWhite(fill) && seen ? fill : undefined;
    }),
  };
};

/** Thin strokes without a fill that the drawing prints, where they run. */
export const thinStrokes = (
  drawing: { readonly root: Element; readonly ids: Ids; readonly styles: Styles },
  lines: ReadonlySet<Element>,
  kept: ReadonlySet<Element> | undefined,
  matrix: Matrix,
  box: { readonly width: number; readonly height: number },
): PrintedStroke[] => {
  const { root, styles } = drawing;
  const below = (element: Element, set: ReadonlySet<Element>): boolean => {
    for (let e: Element | undefined = element; e; e = parentOf(e)) if (set.has(e)) return true;
    return false;
  };
  const strokes: Element[] = [];
  for (const element of walkElements(root)) {
    if (strokes.length >= MOST_STROKES) break;
    if (!SHAPES.has(element.name) || below(element, lines) || (kept && !below(element, kept))) continue;
    if (isNone(inherited(element, "stroke", styles)) || !isNone(inherited(element, "fill", styles) ?? "black"))
      continue;
    if ([styles.own(element, "opacity"), inherited(element, "stroke-opacity", styles)].some(isNothing)) continue;
    strokes.push(element);
  }
  if (strokes.length === 0) return [];
  // What is wrong with them as lines is no fault: they are none.
  const selected = new Map(strokes.map((element) => [element, "cutting" as const]));
  return drawnLines({ ...drawing, selected, report: ledger({}) }, matrix, box).flatMap((one): PrintedStroke[] => {
    const [a, b, c, d] = one.matrix;
    const width = toUserUnits(inherited(one.element, "stroke-width", styles) ?? "1", "both", { ...box, fontSize: 16 });
    const thick = "value" in width ? width.value * Math.sqrt(Math.abs(a * d - b * c)) : 0;
    const read = linesOf(one.data, one.matrix);
    if (!("lines" in read) || thick === 0 || thick > THICKEST * 1000) return [];
    return read.lines.map(({ points, closed }) => ({ element: nameOf(one.element), width: thick, points, closed }));
  });
};
