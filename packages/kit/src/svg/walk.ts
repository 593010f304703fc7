// The drawing as it is drawn: every use followed, every transform and viewport applied. Only what the selectors found is
// reported; the rest is passed through for the sake of its matrices.
import { type Matrix, multiply } from "@kitforme/geometry";
import type { Element } from "domhandler";
import type { Operation } from "../kit.ts";
import type { Ledger } from "../ledger.ts";
import type { Styles } from "./cascade.ts";
import { clipWindow } from "./clip-window.ts";
import { elementsOf, nameOf, walkElements } from "./parse.ts";
import { lengthsOf, pathDataOf, SHAPES } from "./path-data.ts";
import { type Ids, NEVER_DRAWN, targetOf } from "./references.ts";
import { ownTransform } from "./own-transform.ts";
import { type Measure, toUserUnits } from "./units.ts";
import type { Window } from "./window.ts";
import { DEFAULT_FIT, fitMatrix, parseFit, parseViewBox } from "./viewport.ts";

/** A shape that a selector found, where it is drawn. */
export interface Drawn {
  readonly operation: Operation;
  readonly element: Element;
  /** The element that the selector named: itself or something around it. */
  readonly selected: Element;
  readonly data: string;
  /** User units to micrometres. */
  readonly matrix: Matrix;
  /** Viewports, and clips to a rectangle, that cut off what lies beyond them. */
  readonly windows: readonly Window[];
}

interface State {
  readonly matrix: Matrix;
  readonly measure: Measure;
  readonly windows: readonly Window[];
  /** Why nothing shows below here. */
  readonly hidden: string | undefined;
  /** `visibility` comes down the tree, and may be taken back further down. */
  readonly unseen: string | undefined;
  readonly clipped: string | undefined;
  readonly chosen: { readonly operation: Operation; readonly element: Element } | undefined;
  /** References followed to get here, for uses that go in circles. */
  readonly depth: number;
}

export interface Walk {
  readonly root: Element;
  readonly ids: Ids;
  readonly styles: Styles;
  readonly selected: ReadonlyMap<Element, Operation>;
  readonly report: Ledger;
  /** Told of every picture that is drawn: its place in user units under the matrix. */
  readonly onPicture?: (element: Element, matrix: Matrix, place: Placed) => void;
  /** Told of every text that is drawn, with a place in user units where it begins or near it. */
  readonly onText?: (element: Element, matrix: Matrix, x: number, y: number) => void;
  /** Called for every element that is drawn, with what its lengths are measured against. */
  readonly onElement?: (element: Element, measure: Measure) => void;
  /** What is hidden or clipped is taken too: where something lies does not depend on whether it is seen. */
  readonly unseen?: true;
}

/** Where a picture is drawn, user units. */
export interface Placed {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

const FONT_SIZE = 16;
const DEEPEST_USE = 60;

/** Style properties that move a shape and are not read here; librsvg does not read them either. */
const UNREAD = ["transform-origin", "transform-box", "translate", "rotate", "scale", "offset-path", "zoom"] as const;

/** The matrix of an element's own transform, reported when it cannot be read. */
export const transformOf = (element: Element, styles: Styles, report: Ledger): Matrix | undefined => {
  const own = ownTransform(element, styles);
  if (!own) return undefined;
  const { read, text } = own;
  if ("matrix" in read) return read.matrix;
  report.say("value-unreadable", {
    element: nameOf(element),
    attribute: "transform",
    value: text.slice(0, 200),
    why: read.why,
  });
  return undefined;
};

const measureIn = (element: Element, styles: Styles, measure: Measure): Measure => {
  const text = styles.own(element, "font-size");
  if (text === undefined) return measure;
  // A percentage of type size is of the type size around it, not of the viewport.
  const size = toUserUnits(
    text.trim().replace(/^([\d.]+)%$/, (_, n: string) => `${Number(n) / 100}em`),
    "both",
    measure,
  );
  return "value" in size && size.value > 0 ? { ...measure, fontSize: size.value } : measure;
};

const enter = (element: Element, state: State, walk: Walk): State => {
  const { styles, report, selected } = walk;
  const operation = selected.get(element);
  const chosen = operation ? { operation, element } : state.chosen;
  const own = transformOf(element, styles, report);
  const display = styles.own(element, "display")?.trim().toLowerCase();
  const visibility = styles.own(element, "visibility")?.trim().toLowerCase();
  const matrix = own ? multiply(state.matrix, own) : state.matrix;
  const measure = measureIn(element, styles, state.measure);
  const cuts = (["clip-path", "mask"] as const).flatMap((property) => {
    const value = styles.own(element, property) ?? "";
    return /^\s*(none)?\s*$/i.test(value) ? [] : [{ property, value }];
  });
  const clip = walk.unseen ? undefined : cuts.find(({ property }) => property === "clip-path");
  const window = clip && clipWindow(element, clip.value, walk, { matrix, measure });
  const cut = cuts.find((one) => one !== clip || !window)?.property;
  const winners = styles.winners(element);
  for (const property of UNREAD) {
    const value = winners.get(property) ?? (property.startsWith("transform") ? element.attribs[property] : undefined);
    if (value !== undefined && !/^(none|0|0px|1|auto|normal|view-box)$/.test(value))
      report.say("css-refused", { element: nameOf(element), property });
  }
  return {
    ...state,
    matrix,
    measure,
    windows: window ? [...state.windows, window] : state.windows,
    hidden: state.hidden ?? (display === "none" ? `display:none on ${nameOf(element)}` : undefined),
    unseen:
      visibility === "visible"
        ? undefined
        : visibility === "hidden" || visibility === "collapse"
          ? `visibility:${visibility} on ${nameOf(element)}`
          : state.unseen,
    clipped: state.clipped ?? (cut ? `${cut} on ${nameOf(element)}` : undefined),
    chosen,
  };
};

/** A nested svg or a used symbol: a viewport in a viewport. `sizes` are the use's width and height, which win. */
const viewportOf = (
  element: Element,
  state: State,
  walk: Walk,
  sizes: { readonly width: number | undefined; readonly height: number | undefined } | undefined,
): State | undefined => {
  const { styles, report } = walk;
  const length = lengthsOf(element, styles, state.measure, report);
  const x = element.name === "svg" ? (length("x", "x") ?? 0) : 0;
  const y = element.name === "svg" ? (length("y", "y") ?? 0) : 0;
  const width = sizes?.width ?? length("width", "x") ?? state.measure.width;
  const height = sizes?.height ?? length("height", "y") ?? state.measure.height;
  if (![x, y, width, height].every(Number.isFinite)) return undefined;
  if (!(width > 0 && height > 0)) return undefined;
  const boxText = element.attribs["viewBox"];
  const fitText = element.attribs["preserveAspectRatio"];
  const box = boxText === undefined ? { x: 0, y: 0, width, height } : parseViewBox(boxText);
  const fit = fitText === undefined ? DEFAULT_FIT : parseFit(fitText);
  for (const [attribute, value, good] of [
    ["viewBox", boxText, box],
    ["preserveAspectRatio", fitText, fit],
  ] as const)
    if (!good)
      report.say("value-unreadable", { element: nameOf(element), attribute, value: value ?? "", why: "it is none" });
  if (!box || !fit) return undefined;
  const inner = fitMatrix(box, fit, x, y, width, height);
  const matrix = multiply(state.matrix, inner);
  const overflow = styles.own(element, "overflow")?.trim().toLowerCase();
  const open = overflow === "visible" || overflow === "auto";
  const window: Window = { matrix: state.matrix, x, y, width, height, name: `the edge of ${nameOf(element)}` };
  return {
    ...state,
    matrix,
    measure: { ...state.measure, width: box.width, height: box.height },
    windows: open ? state.windows : [...state.windows, window],
  };
};

const visitUse = (element: Element, state: State, walk: Walk, found: Drawn[]): void => {
  const { styles, report, ids } = walk;
  const target = targetOf(element, ids);
  if (!target) {
    if (state.chosen && !state.hidden)
      report.say("use-refused", {
        element: nameOf(element),
        why: `refers to ${element.attribs["href"] ?? "nothing"}, which the drawing does not have`,
      });
    return;
  }
  if (state.depth >= DEEPEST_USE) return;
  const length = lengthsOf(element, styles, state.measure, report);
  const [x, y] = [length("x", "x") ?? 0, length("y", "y") ?? 0];
  if (!Number.isFinite(x) || !Number.isFinite(y)) return;
  const moved: State = { ...state, matrix: multiply(state.matrix, [1, 0, 0, 1, x, y]), depth: state.depth + 1 };
  if (target.name !== "symbol" && target.name !== "svg") {
    if (!NEVER_DRAWN.has(target.name)) visit(target, moved, walk, found);
    return;
  }
  const sizes = { width: length("width", "x"), height: length("height", "y") };
  const inner = viewportOf(target, enter(target, moved, walk), walk, sizes);
  if (inner) for (const child of elementsOf(target)) visit(child, inner, walk, found);
};

/** A shape or other leaf below a selected element. */
const visitLeaf = (element: Element, state: State, walk: Walk, found: Drawn[]): void => {
  if (element.name === "image" && walk.onPicture && !state.hidden && (walk.unseen || !state.unseen)) {
    const length = lengthsOf(element, walk.styles, state.measure, walk.report);
    const place = { x: length("x", "x") ?? 0, y: length("y", "y") ?? 0 };
    const [width, height] = [length("width", "x") ?? Number.NaN, length("height", "y") ?? Number.NaN];
    if (walk.unseen || [place.x, place.y, width, height].every(Number.isFinite))
      walk.onPicture(element, state.matrix, { ...place, width, height });
  }
  if (element.name === "text" && walk.onText) {
    const first = [...walkElements(element)].find((e) => e.attribs["x"] !== undefined) ?? element;
    const numbers = (property: string): number => Number.parseFloat(first.attribs[property] ?? "0") || 0;
    walk.onText(element, state.matrix, numbers("x"), numbers("y"));
  }
  const { chosen } = state;
  if (!chosen) return;
  const { report, styles } = walk;
  const where = { operation: chosen.operation };
  if (!SHAPES.has(element.name)) {
    if (/^(text|image)$/.test(element.name)) report.say("line-not-a-shape", { element: nameOf(element) }, where);
    return;
  }
  const hidden = state.hidden ?? (walk.unseen ? undefined : state.unseen);
  if (hidden) return report.say("line-hidden", { element: nameOf(element), by: hidden }, where);
  if (state.clipped && !walk.unseen)
    return report.say("line-clipped", { element: nameOf(element), by: state.clipped }, where);
  const data = pathDataOf(element, styles, state.measure, report);
  if (data === undefined) return;
  const { matrix, windows } = state;
  found.push({ operation: chosen.operation, element, selected: chosen.element, data, matrix, windows });
};

const visit = (element: Element, outer: State, walk: Walk, found: Drawn[]): void => {
  if (NEVER_DRAWN.has(element.name)) return;
  const state = enter(element, outer, walk);
  if (!state.hidden) walk.onElement?.(element, state.measure);
  descend(element, state, walk, found);
};

const descend = (element: Element, state: State, walk: Walk, found: Drawn[]): void => {
  switch (element.name) {
    case "use":
      return visitUse(element, state, walk, found);
    case "svg": {
      const inner = viewportOf(element, state, walk, undefined);
      if (inner) for (const child of elementsOf(element)) visit(child, inner, walk, found);
      return;
    }
    case "g":
    case "a":
    case "switch":
      for (const child of elementsOf(element)) visit(child, state, walk, found);
      return;
    default:
      return visitLeaf(element, state, walk, found);
  }
};

/**
 * Every shape that a selector found, once for each time it is drawn, in drawing order.
 * @param matrix the root's user units to micrometres
 * @param box the root's viewBox or its size in pixels, of which percentages are taken
 */
export const drawnLines = (
  walk: Walk,
  matrix: Matrix,
  box: { readonly width: number; readonly height: number },
): Drawn[] => {
  const found: Drawn[] = [];
  const state = enter(walk.root, beginning(matrix, { ...box, fontSize: FONT_SIZE }), walk);
  for (const child of elementsOf(walk.root)) visit(child, state, walk, found);
  return found;
};

/**
 * Every shape that the walk's root draws, in the root's own user units: its transform is not applied, and of a use its place
 * neither, which SVG 1.1, 5.6 counts as part of its transform.
 * @param matrix those units to what the shapes are wanted in
 */
export const drawnWithin = (walk: Walk, matrix: Matrix, measure: Measure): Drawn[] => {
  const found: Drawn[] = [];
  const chosen = { operation: "cutting", element: walk.root } as const;
  const { root, styles, report } = walk;
  const length = lengthsOf(root, styles, measure, report);
  const [x, y] = root.name === "use" ? [length("x", "x") ?? 0, length("y", "y") ?? 0] : [0, 0];
  descend(root, { ...beginning(multiply(matrix, [1, 0, 0, 1, -x, -y]), measure), chosen }, walk, found);
  return found;
};

const beginning = (matrix: Matrix, measure: Measure): State => ({
  matrix,
  measure,
  windows: [],
  hidden: undefined,
  unseen: undefined,
  clipped: undefined,
  chosen: undefined,
  depth: 0,
});
