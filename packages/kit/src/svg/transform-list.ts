// The transform attribute. Own, because the libraries fall short: svgpath silently skips what it cannot read, also the legal
// compact spellings `matrix(1 0 0 1-.5.5)` and `translate(1-2)`; transformation-matrix refuses them.
import { IDENTITY, type Matrix, multiply, unit } from "@kitforme/geometry";

const NUMBER = /[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?/y;
const NAME = /[A-Za-z]+/y;
const SPACE = /[\s]*/y;
/** Between two functions, any number of commas and spaces (SVG 1.1, 7.6: comma-wsp+), or none. */
const BETWEEN = /[\s,]*/y;
const ANGLES: Readonly<Record<string, number>> = { "": 1, deg: 1, rad: 180 / Math.PI, grad: 0.9, turn: 360 };
const LENGTHS: Readonly<Record<string, number>> = {
  "": 1,
  px: 1,
  mm: 96 / 25.4,
  cm: 96 / 2.54,
  in: 96,
  pt: 96 / 72,
  pc: 16,
};

const tan = (degrees: number): number => Math.tan((degrees * Math.PI) / 180);

const rotate = (degrees: number): Matrix => {
  const [cos, sin] = unit(degrees);
  return [cos, sin, 0 - sin, cos, 0, 0];
};

type Kind = "plain" | "length" | "angle";

/** Each function: how many arguments, what they are, the matrix. */
const FUNCTIONS: Readonly<
  Record<
    string,
    {
      readonly counts: readonly number[];
      readonly kinds: readonly Kind[];
      readonly css?: boolean;
      readonly of: (a: readonly number[]) => Matrix;
    }
  >
> = {
  matrix: {
    counts: [6],
    kinds: ["plain", "plain", "plain", "plain", "plain", "plain"],
    of: ([a = 1, b = 0, c = 0, d = 1, e = 0, f = 0]) => [a, b, c, d, e, f],
  },
  translate: { counts: [1, 2], kinds: ["length", "length"], of: ([x = 0, y = 0]) => [1, 0, 0, 1, x, y] },
  translateX: { counts: [1], kinds: ["length"], css: true, of: ([x = 0]) => [1, 0, 0, 1, x, 0] },
  translateY: { counts: [1], kinds: ["length"], css: true, of: ([y = 0]) => [1, 0, 0, 1, 0, y] },
  scale: { counts: [1, 2], kinds: ["plain", "plain"], of: ([x = 1, y = x]) => [x, 0, 0, y, 0, 0] },
  scaleX: { counts: [1], kinds: ["plain"], css: true, of: ([x = 1]) => [x, 0, 0, 1, 0, 0] },
  scaleY: { counts: [1], kinds: ["plain"], css: true, of: ([y = 1]) => [1, 0, 0, y, 0, 0] },
  rotate: {
    counts: [1, 3],
    kinds: ["angle", "length", "length"],
    of: ([a = 0, x = 0, y = 0]) => multiply(multiply([1, 0, 0, 1, x, y], rotate(a)), [1, 0, 0, 1, -x, -y]),
  },
  skewX: { counts: [1], kinds: ["angle"], of: ([a = 0]) => [1, 0, tan(a), 1, 0, 0] },
  skewY: { counts: [1], kinds: ["angle"], of: ([a = 0]) => [1, tan(a), 0, 1, 0, 0] },
};

/** The matrix of a list, or why there is none and at which character (from 0). */
export type TransformList = { readonly matrix: Matrix } | { readonly why: string };

/**
 * A transform list to its matrix; the leftmost function is the outermost. Every legal spelling of SVG 1.1, 7.6 is read; with
 * `css` also units and the one-axis functions of CSS Transforms 1. Numbers must stay finite.
 */
export const parseTransform = (text: string, css = false): TransformList => {
  let at = 0;
  const take = (pattern: RegExp): string | undefined => {
    pattern.lastIndex = at;
    const match = pattern.exec(text);
    if (match) at += match[0].length;
    return match?.[0];
  };
  const fail = (why: string): TransformList => ({ why: `${why} at character ${at}` });
  let matrix: Matrix = IDENTITY;
  if (/^\s*none\s*$/.test(text)) return { matrix };
  take(SPACE);
  while (at < text.length) {
    const name = take(NAME);
    const fn = name !== undefined && Object.hasOwn(FUNCTIONS, name) ? FUNCTIONS[name] : undefined;
    if (!fn || (fn.css && !css)) return fail(name ? `${name} is no transform` : "a transform is expected");
    take(SPACE);
    if (text[at] !== "(") return fail("( is expected");
    at++;
    take(SPACE);
    const values: number[] = [];
    while (text[at] !== ")") {
      const number = take(NUMBER);
      if (number === undefined) return fail(at < text.length ? "a number is expected" : ") is expected");
      const kind = fn.kinds[values.length] ?? "plain";
      const suffix = css && kind !== "plain" ? (take(NAME) ?? "").toLowerCase() : "";
      const factor = (kind === "angle" ? ANGLES : LENGTHS)[suffix];
      if (factor === undefined) return fail(`${suffix} is no unit here`);
      values.push(Number(number) * factor);
      take(SPACE);
      if (text[at] === ",") {
        at++;
        take(SPACE);
        if (text[at] === ")") return fail("a number is expected");
      }
    }
    at++;
    if (!fn.counts.includes(values.length))
      return fail(`${name} takes ${fn.counts.join(" or ")} numbers, not ${values.length}, before the )`);
    matrix = multiply(matrix, fn.of(values));
    if (!matrix.every(Number.isFinite)) return fail("a number is too large");
    take(BETWEEN);
  }
  return { matrix };
};
