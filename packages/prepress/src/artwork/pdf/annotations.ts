// Form fields and comments as a viewer prints them (ISO 32000, 12.5.5): their normal appearance, laid over the page's content.
import { multiply, type Matrix } from "@kitforme/geometry";
import {
  PDFArray,
  PDFDict,
  PDFHexString,
  PDFName,
  PDFNumber,
  type PDFObject,
  type PDFPageLeaf,
  PDFRef,
  PDFStream,
  PDFString,
} from "../../pdf-lib.ts";
import { isHidden } from "./hidden.ts";

const name = (key: string): PDFName => PDFName.of(key);
const [HIDDEN, PRINT] = [2, 4];

export interface Annotations {
  /** Content that draws them, to go after the page's own. */
  readonly content: string;
  /** What is drawn, in words. */
  readonly drawn: readonly string[];
  /** Fields with a value that nobody has drawn. */
  readonly blank: readonly string[];
}

/** Puts the appearances of a page's printing annotations among its XObjects, and gives the content that draws them. */
export const annotationsOf = (node: PDFPageLeaf, resources: PDFDict): Annotations => {
  const { context } = node;
  const list = node.lookup(name("Annots"));
  const content: string[] = [];
  const drawn = new Map<string, number>();
  const blank: string[] = [];
  for (let i = 0; list instanceof PDFArray && i < list.size(); i++) {
    const one = list.lookup(i);
    if (!(one instanceof PDFDict)) continue;
    const kind = String(one.lookup(name("Subtype"))).slice(1);
    const flags = one.lookup(name("F"));
    const bits = flags instanceof PDFNumber ? flags.asNumber() : 0;
    if (kind === "Popup" || (bits & HIDDEN) !== 0 || (bits & PRINT) === 0 || isHidden(one.lookup(name("OC")))) continue;
    const appearance = normalAppearance(one);
    const [rect, value] = [
      numbersIn(one.lookup(name("Rect")), 4),
      one.lookup(name("V")) ?? parentOf(one)?.lookup(name("V")),
    ];
    if (!appearance || !rect) {
      if (
        kind === "Widget" &&
        (value instanceof PDFString || value instanceof PDFHexString) &&
        value.decodeText() !== ""
      )
        blank.push(titleOf(one));
      continue;
    }
    const placing = placingOf(appearance.stream.dict, rect);
    if (!placing) continue;
    const objects = resources.lookupMaybe(name("XObject"), PDFDict) ?? context.obj({});
    resources.set(name("XObject"), objects);
    const key = `KitformeAnnotation${i}`;
    appearance.stream.dict.set(name("Subtype"), name("Form"));
    objects.set(name(key), appearance.ref ?? context.register(appearance.stream));
    content.push(`q ${placing.map((n) => Number(n.toFixed(6))).join(" ")} cm /${key} Do Q`);
    const noun = kind === "Widget" ? "form field" : kind === "Link" ? "link" : `${kind} comment`;
    drawn.set(noun, (drawn.get(noun) ?? 0) + 1);
  }
  return {
    content: content.join("\n"),
    drawn: [...drawn].map(([noun, count]) => `${count} ${noun}${count === 1 ? "" : "s"}`),
    blank,
  };
};

const parentOf = (field: PDFDict): PDFDict | undefined => {
  const parent = field.lookup(name("Parent"));
  return parent instanceof PDFDict ? parent : undefined;
};

const titleOf = (field: PDFDict): string => {
  const title = field.lookup(name("T")) ?? parentOf(field)?.lookup(name("T"));
  return title instanceof PDFString || title instanceof PDFHexString ? title.decodeText() : "unnamed";
};

/** The stream of /AP /N, chosen by /AS where there are several. */
const normalAppearance = (one: PDFDict): { readonly stream: PDFStream; readonly ref?: PDFRef } | undefined => {
  const looks = one.lookup(name("AP"));
  if (!(looks instanceof PDFDict)) return undefined;
  let entry: PDFObject | undefined = looks.get(name("N"));
  let found = one.context.lookup(entry);
  if (found instanceof PDFDict) {
    const state = one.lookup(name("AS"));
    entry = state instanceof PDFName ? found.get(state) : undefined;
    found = one.context.lookup(entry);
  }
  return found instanceof PDFStream ? { stream: found, ...(entry instanceof PDFRef ? { ref: entry } : {}) } : undefined;
};

const numbersIn = (object: PDFObject | undefined, count: number): number[] | undefined => {
  if (!(object instanceof PDFArray) || object.size() !== count) return undefined;
  const all = object.asArray().map((_, i) => object.lookup(i));
  return all.every((one): one is PDFNumber => one instanceof PDFNumber) ? all.map((one) => one.asNumber()) : undefined;
};

/** Algorithm 8: the appearance's box under its own matrix is fitted into the annotation's rectangle. */
const placingOf = (dict: PDFDict, rect: readonly number[]): Matrix | undefined => {
  const box = numbersIn(dict.lookup(name("BBox")), 4);
  const matrix = (numbersIn(dict.lookup(name("Matrix")), 6) ?? [1, 0, 0, 1, 0, 0]) as unknown as Matrix;
  if (!box) return undefined;
  const [a, b, c, d] = box as [number, number, number, number];
  const corners = [
    [a, b],
    [c, b],
    [c, d],
    [a, d],
  ].map(([x, y]) => multiply(matrix, [1, 0, 0, 1, x as number, y as number]).slice(4) as [number, number]);
  const [xs, ys] = [corners.map(([x]) => x), corners.map(([, y]) => y)];
  const [left, bottom] = [Math.min(...xs), Math.min(...ys)];
  const [wide, high] = [Math.max(...xs) - left, Math.max(...ys) - bottom];
  const [x0, y0, x1, y1] = rect as [number, number, number, number];
  const [width, height] = [Math.abs(x1 - x0), Math.abs(y1 - y0)];
  if (wide <= 0 || high <= 0) return undefined;
  const [sx, sy] = [width / wide, height / high];
  return [sx, 0, 0, sy, Math.min(x0, x1) - left * sx, Math.min(y0, y1) - bottom * sy];
};
