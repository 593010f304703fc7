// A page looked at as a prepress desk would: what its operators paint, how thin, in which ink, over what. One walk through
// the page and its forms with the graphics state that matters; patterns and letters of Type 3 are not followed.
import { IDENTITY, type Matrix, multiply } from "@kitforme/geometry";
import { PDFArray, PDFDict, PDFName, PDFNumber, type PDFObject, PDFRawStream } from "../../pdf-lib.ts";
import type { Anatomy, Scope } from "./anatomy.ts";
import { componentsOf } from "./components-of.ts";

/** A picture as a page places it. */
export interface PlacedPicture {
  /** Pixels. */
  readonly width: number;
  readonly height: number;
  /** From the picture's unit square to the page's points. */
  readonly matrix: Matrix;
}

type Point = readonly [x: number, y: number];

/** What was seen; places in points of the page. */
export interface Inspected {
  readonly pictures: readonly PlacedPicture[];
  /** Lines, their width in points. */
  readonly lines: readonly { readonly width: number; readonly at: Point }[];
  /** White that would paint nothing because it overprints. */
  readonly whites: readonly { readonly what: string; readonly at: Point }[];
  /** Visible letters, once for each time some are shown; `mirrored`: the page turns them over. */
  readonly texts: readonly { readonly at: Point; readonly mirrored: boolean }[];
}

/** Forms within forms deeper than this are not followed. */
const DEEPEST = 12;
/** Things of a kind looked at; a page that has more is made of tiles of one. */
const MOST = 20_000;

interface State {
  matrix: Matrix;
  line: number;
  fill: Paint;
  stroke: Paint;
  overFill: boolean;
  overStroke: boolean;
  mode: number;
  letters: number;
}
/** `clear`: paints no ink at all when it overprints: CMYK of nothing in mode 1, or a spot colour of nothing. */
interface Paint {
  readonly clear: "none" | "cmyk" | "spot";
  /** The chosen space: CMYK, a spot space, one of RGB or Lab, or another. */
  readonly space: "cmyk" | "spot" | "rgb" | "lab" | "other";
}
const OTHER: Paint = { clear: "none", space: "other" };

const FILLS = new Set(["f", "F", "f*", "B", "B*", "b", "b*"]);
const STROKES = new Set(["S", "s", "B", "B*", "b", "b*"]);
const SHOWS = new Set(["Tj", "TJ", "'", '"']);

export const inspectPage = ({ scopes }: Anatomy): Inspected => {
  const pictures: PlacedPicture[] = [];
  const lines: { width: number; at: Point }[] = [];
  const whites: { what: string; at: Point }[] = [];
  const texts: { at: Point; mirrored: boolean }[] = [];
  const byStream = new Map(scopes.flatMap((scope) => (scope.ref ? [[scope.ref.toString(), scope] as const] : [])));
  let steps = 0;
  const follow = (scope: Scope, outer: State, depth: number): void => {
    let now: State = { ...outer };
    const saved: State[] = [];
    let start: Point | undefined;
    let text: Point = [0, 0];
    let over = 1;
    const at = ([x, y]: Point): Point => multiply(now.matrix, [1, 0, 0, 1, x, y]).slice(4) as unknown as Point;
    const paint = (kind: "fill" | "stroke", what: string, where: Point): void => {
      const one = kind === "fill" ? now.fill : now.stroke;
      const over = kind === "fill" ? now.overFill : now.overStroke;
      const clear = one.clear === "spot" || (one.clear === "cmyk" && now.mode === 1);
      if (over && clear && whites.length < MOST) whites.push({ what, at: where });
    };
    for (const { operator, operands, inline } of scope.operations) {
      const numbers = operands.map(Number);
      if (operator === "q") saved.push({ ...now });
      else if (operator === "Q") now = saved.pop() ?? { ...outer };
      else if (operator === "cm") now.matrix = multiply(now.matrix, matrixOf(operands));
      else if (operator === "w") now.line = Math.max(0, numbers[0] ?? 0);
      else if (operator === "gs") state(now, scope.resources, operands[0]);
      else if (operator === "k") now.fill = cmyk(numbers);
      else if (operator === "K") now.stroke = cmyk(numbers);
      else if (operator === "rg") now.fill = rgb(numbers);
      else if (operator === "RG") now.stroke = rgb(numbers);
      else if (operator === "g") now.fill = OTHER;
      else if (operator === "G") now.stroke = OTHER;
      else if (operator === "cs") now.fill = spaceOf(scope.resources, operands[0]);
      else if (operator === "CS") now.stroke = spaceOf(scope.resources, operands[0]);
      else if (operator === "sc" || operator === "scn") now.fill = set(now.fill, numbers);
      else if (operator === "SC" || operator === "SCN") now.stroke = set(now.stroke, numbers);
      else if (operator === "m" || operator === "re") start ??= [numbers[0] ?? 0, numbers[1] ?? 0];
      else if (operator === "Tr") now.letters = numbers[0] ?? 0;
      else if (operator === "BT") [text, over] = [[0, 0], 1];
      else if (operator === "Tm") {
        const [a = 1, b = 0, c = 0, d = 1, e = 0, f = 0] = numbers;
        [text, over] = [[e, f], a * d - b * c];
      } else if (operator === "Td" || operator === "TD")
        text = [text[0] + (numbers[0] ?? 0), text[1] + (numbers[1] ?? 0)];
      else if (operator === "n") start = undefined;
      else if (SHOWS.has(operator) && now.letters % 4 !== 3) {
        paint("fill", "text", at(text));
        const [a, b, c, d] = now.matrix;
        if (texts.length < MOST) texts.push({ at: at(text), mirrored: (a * d - b * c) * over < 0 });
      } else if (operator === "BI" && inline && pictures.length < MOST) {
        const [width, height] = [inlineNumber(inline, "/W", "/Width"), inlineNumber(inline, "/H", "/Height")];
        if (width && height) pictures.push({ width, height, matrix: now.matrix });
      } else if (operator === "Do") {
        const objects = scope.resources.lookupMaybe(PDFName.of("XObject"), PDFDict);
        const key = PDFName.of(String(operands[0]).slice(1));
        const object = objects?.lookup(key);
        if (!(object instanceof PDFRawStream) || ++steps > MOST) continue;
        const inner = byStream.get(String(objects?.get(key)));
        const [width, height] = [numberIn(object.dict, "Width"), numberIn(object.dict, "Height")];
        if (inner && depth < DEEPEST)
          follow(inner, { ...now, matrix: multiply(now.matrix, formMatrix(object.dict)) }, depth + 1);
        else if (width && height && pictures.length < MOST) pictures.push({ width, height, matrix: now.matrix });
      }
      const [fills, strokes] = [FILLS.has(operator), STROKES.has(operator)];
      if (!fills && !strokes) continue;
      const where = at(start ?? [0, 0]);
      if (fills) paint("fill", "a fill", where);
      if (strokes) {
        paint("stroke", "a line", where);
        const [a, b, c, d] = now.matrix;
        if (lines.length < MOST && now.stroke.clear === "none")
          lines.push({ width: now.line * Math.sqrt(Math.abs(a * d - b * c)), at: where });
      }
      start = undefined;
    }
  };
  const page = scopes.find(({ ref }) => !ref);
  const begin: State = {
    matrix: IDENTITY,
    line: 1,
    fill: OTHER,
    stroke: OTHER,
    overFill: false,
    overStroke: false,
    mode: 0,
    letters: 0,
  };
  if (page) follow(page, begin, 0);
  return { pictures, lines, whites, texts };
};

/** Names of the spot colours that a page uses, in the order of the alphabet. */
export const spotsOf = ({ spots }: Anatomy): string[] =>
  [...spots].filter((spot) => !PROCESS.has(spot)).sort((a, b) => (a < b ? -1 : 1));

/** Something on the page is set to overprint. */
export const overprints = ({ scopes }: Anatomy): boolean =>
  scopes.some(({ resources }) =>
    (resources.lookupMaybe(PDFName.of("ExtGState"), PDFDict)?.keys() ?? []).some((key) => {
      const state = resources.lookup(PDFName.of("ExtGState"), PDFDict).lookup(key);
      return (
        state instanceof PDFDict && ["OP", "op"].some((flag) => state.lookup(PDFName.of(flag))?.toString() === "true")
      );
    }),
  );

const PROCESS = new Set(["Cyan", "Magenta", "Yellow", "Black", "None"]);

const cmyk = (inks: readonly number[]): Paint => ({
  clear: inks.length === 4 && inks.every((ink) => ink === 0) ? "cmyk" : "none",
  space: "cmyk",
});
/** White in RGB becomes CMYK of nothing on its way to the press. */
const rgb = (light: readonly number[]): Paint => ({
  clear: light.length === 3 && light.every((one) => one === 1) ? "cmyk" : "none",
  space: "rgb",
});
const set = ({ space }: Paint, values: readonly number[]): Paint =>
  space === "cmyk"
    ? cmyk(values)
    : space === "rgb"
      ? rgb(values)
      : space === "lab"
        ? {
            clear: values.length === 3 && values.every((one, i) => one === (i === 0 ? 100 : 0)) ? "cmyk" : "none",
            space,
          }
        : space === "spot" && values.length > 0 && values.every((value) => value === 0)
          ? { clear: "spot", space }
          : { clear: "none", space };

const spaceOf = (resources: PDFDict, operand: number | string | undefined): Paint => {
  if (operand === "/DeviceCMYK") return { clear: "none", space: "cmyk" };
  if (operand === "/DeviceRGB") return { clear: "none", space: "rgb" };
  const space = resources.lookupMaybe(PDFName.of("ColorSpace"), PDFDict)?.lookup(PDFName.of(String(operand).slice(1)));
  const kind = space instanceof PDFArray && space.size() > 1 ? space.lookup(0) : undefined;
  const spot = kind === PDFName.of("Separation") || kind === PDFName.of("DeviceN");
  if (kind === PDFName.of("Lab")) return { clear: "none", space: "lab" };
  return { clear: "none", space: spot ? "spot" : componentsOf(space) === 3 ? "rgb" : "other" };
};

const state = (now: State, resources: PDFDict, operand: number | string | undefined): void => {
  const dict = resources.lookupMaybe(PDFName.of("ExtGState"), PDFDict)?.lookup(PDFName.of(String(operand).slice(1)));
  if (!(dict instanceof PDFDict)) return;
  const flag = (key: string): boolean | undefined => {
    const value: PDFObject | undefined = dict.lookup(PDFName.of(key));
    return value === undefined ? undefined : value.toString() === "true";
  };
  const [both, fill] = [flag("OP"), flag("op")];
  now.overStroke = both ?? now.overStroke;
  now.overFill = fill ?? both ?? now.overFill;
  now.mode = numberIn(dict, "OPM") ?? now.mode;
  now.line = numberIn(dict, "LW") ?? now.line;
};

const inlineNumber = (inline: readonly (number | string)[], ...keys: readonly string[]): number | undefined => {
  const at = inline.findIndex((one) => keys.includes(String(one)));
  const value = at < 0 ? undefined : inline[at + 1];
  return typeof value === "number" ? value : undefined;
};

const matrixOf = (operands: readonly (number | string)[]): Matrix => {
  const six = operands.map(Number);
  return six.length === 6 && six.every(Number.isFinite) ? (six as unknown as Matrix) : IDENTITY;
};

const formMatrix = (dict: PDFDict): Matrix => {
  const array = dict.lookup(PDFName.of("Matrix"));
  return array instanceof PDFArray
    ? matrixOf(array.asArray().map((n) => (n instanceof PDFNumber ? n.asNumber() : "")))
    : IDENTITY;
};

const numberIn = (dict: PDFDict, key: string): number | undefined => {
  const value = dict.lookup(PDFName.of(key));
  return value instanceof PDFNumber ? value.asNumber() : undefined;
};
