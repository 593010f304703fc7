import type { Matrix } from "@kitforme/geometry";
import type { Element } from "domhandler";
import type { Ledger } from "../ledger.ts";
import { inFigures as number } from "../numbers.ts";
import { MM_PER, MM_PER_PX, splitLength } from "./units.ts";
import { DEFAULT_FIT, fitMatrix, parseFit, parseViewBox, type ViewBox } from "./viewport.ts";

/** A drawing's true size and how its user units lie on it. */
export interface DrawingSize {
  /** Millimetres. */
  readonly width: number;
  readonly height: number;
  /** User units of the root's content to millimetres from the top-left corner. */
  readonly matrix: Matrix;
  /** What percentages are taken of: the viewBox, else the size in pixels. */
  readonly box: ViewBox;
}

/** How far a drawing may miss the size that the kit tells (contract: 0.5 %). */
const MISS = 0.005;

/** Mistakes of unit that are met in practice, by the factor they leave. */
const GUESSES: readonly (readonly [factor: number, sentence: string])[] = [
  [96 / 72, "It looks drawn at 72 units to the inch; SVG has 96 px to the inch."],
  [96 / 90, "It looks drawn at 90 units to the inch, as older programs did; SVG has 96 px to the inch."],
  [90 / 72, "It looks converted between 72 and 90 units to the inch."],
  [25.4, "It looks as if inches were meant for millimetres."],
  [96 / 25.4, "It looks as if plain numbers were meant as millimetres; they are px, 96 to the inch."],
  [72 / 25.4, "It looks as if points were meant for millimetres, or the other way round."],
  [10, "It looks as if centimetres were meant for millimetres."],
];

/** The sentence about the likely mistake, when both axes are off by one factor that is known. */
const guessOf = (x: number, y: number): string | undefined => {
  if (Math.abs(x / y - 1) > 2 * MISS) return undefined;
  const factor = x > 1 ? x : 1 / x;
  return GUESSES.find(([known]) => Math.abs(factor / known - 1) <= MISS)?.[1];
};

/** A side of the root in millimetres; undefined when it is left out, relative or auto. */
const sideOf = (
  root: Element,
  side: "width" | "height",
  value: string | undefined,
  report: Ledger,
): number | undefined | null => {
  if (value === undefined || /^\s*(auto|100%)?\s*$/.test(value)) return undefined;
  const length = splitLength(value);
  if (!length) {
    report.say("value-unreadable", { element: `<${root.name}>`, attribute: side, value, why: "a length is expected" });
    return null;
  }
  if (length.unit === "%") return undefined;
  const factor = Object.hasOwn(MM_PER, length.unit) ? MM_PER[length.unit] : undefined;
  if (factor === undefined) {
    report.say("unit-unknown", { element: `<${root.name}>`, attribute: side, value });
    return null;
  }
  const mm = length.number * factor;
  if (!(mm > 0 && mm <= 10_000)) {
    report.say("value-unreadable", {
      element: `<${root.name}>`,
      attribute: side,
      value,
      why: "a size from 0 to 10 m is expected",
    });
    return null;
  }
  return mm;
};

/**
 * The true size of a drawing: its own width and height, one of them and the viewBox's proportion, or the size the kit tells.
 * @param size of kit.json in millimetres, if any
 * @param scale `"fit"`: a drawing of the same proportions is scaled to `size`, and that is reported
 * @param sizeless what a drawing without a size of its own is taken for, in millimetres; `viewBox`: its units are pixels
 */
export const sizeOf = (
  root: Element,
  own: (property: string) => string | undefined,
  size: readonly [number, number] | undefined,
  sizeless: readonly [number, number] | "viewBox" | undefined,
  report: Ledger,
  scale?: "fit",
): DrawingSize | undefined => {
  const boxText = root.attribs["viewBox"];
  const viewBox = boxText === undefined ? undefined : parseViewBox(boxText);
  if (boxText !== undefined && !viewBox) {
    report.say("value-unreadable", {
      element: "<svg>",
      attribute: "viewBox",
      value: boxText,
      why: "four numbers with a positive width and height are expected",
    });
    return undefined;
  }
  const fitText = root.attribs["preserveAspectRatio"];
  const fit = fitText === undefined ? DEFAULT_FIT : parseFit(fitText);
  if (!fit) {
    report.say("value-unreadable", {
      element: "<svg>",
      attribute: "preserveAspectRatio",
      value: fitText ?? "",
      why: "a word like xMidYMid is expected",
    });
    return undefined;
  }
  // A style like `width:100%` is about a web page; the attribute beside it is the designer's size.
  let width = sideOf(root, "width", own("width"), report) ?? sideOf(root, "width", root.attribs["width"], report);
  let height = sideOf(root, "height", own("height"), report) ?? sideOf(root, "height", root.attribs["height"], report);
  if (width === null || height === null) return undefined;
  if (width !== undefined && height === undefined && viewBox) height = (width * viewBox.height) / viewBox.width;
  if (height !== undefined && width === undefined && viewBox) width = (height * viewBox.width) / viewBox.height;
  if (width === undefined || height === undefined) {
    const own = sizeless === "viewBox" && viewBox ? [viewBox.width * MM_PER_PX, viewBox.height * MM_PER_PX] : undefined;
    const given = size ?? own ?? (sizeless === "viewBox" ? undefined : sizeless);
    if (!given || !viewBox) {
      report.say("drawing-size-unknown", {
        why: viewBox
          ? "it has a viewBox but neither width nor height"
          : `it has ${width === undefined && height === undefined ? "neither width nor height" : "only one side"} and no viewBox`,
      });
      return undefined;
    }
    [width, height] = given as [number, number];
  } else if (size) {
    const [x, y] = [width / size[0], height / size[1]];
    if (scale === "fit" && Math.abs(x / y - 1) <= 2 * MISS) {
      if (Math.abs(x - 1) > MISS) report.say("size-fitted", { drawing: [width, height], size, factor: 1 / x });
      // Percentages and plain pixels are of the size as drawn; only the matrix grows.
      const drawn = viewBox
        ? { box: viewBox, matrix: fitMatrix(viewBox, fit, 0, 0, width, height) }
        : {
            box: { x: 0, y: 0, width: width / MM_PER_PX, height: height / MM_PER_PX },
            matrix: [MM_PER_PX, 0, 0, MM_PER_PX, 0, 0] as const,
          };
      const [a, b, c, d, e, f] = drawn.matrix;
      const [sx, sy] = [1 / x, 1 / y];
      const matrix = [a * sx, b * sy, c * sx, d * sy, e * sx, f * sy] as const;
      return { width: size[0], height: size[1], matrix, box: drawn.box };
    }
    if (Math.abs(x - 1) > MISS || Math.abs(y - 1) > MISS) {
      const guess =
        guessOf(x, y) ?? (Math.abs(x / y - 1) < 2 * MISS ? `It is ${number(x)} times as large.` : undefined);
      report.say("size-disagrees", { drawing: [width, height], size, ...(guess ? { guess } : {}) });
    }
  } else if (!sizeless && /^[\s\d.+-]*(px)?\s*$/i.test(own("width") ?? own("height") ?? ""))
    report.say("size-assumed", { drawing: [width, height] });
  const px = { x: 0, y: 0, width: width / MM_PER_PX, height: height / MM_PER_PX };
  const box = viewBox ?? px;
  const matrix = viewBox ? fitMatrix(viewBox, fit, 0, 0, width, height) : ([MM_PER_PX, 0, 0, MM_PER_PX, 0, 0] as const);
  return { width, height, matrix, box };
};
