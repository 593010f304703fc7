import { IDENTITY, type Matrix, multiply } from "@kitforme/geometry";
import { PDFArray, PDFDict, PDFName, PDFNumber, PDFRawStream } from "pdf-lib";
import type { Anatomy, Scope } from "./anatomy.ts";

/** A picture as a page places it. */
export interface PlacedPicture {
  /** Pixels. */
  readonly width: number;
  readonly height: number;
  /** From the picture's unit square to the page's points. */
  readonly matrix: Matrix;
}

/** Forms within forms deeper than this are not followed. */
const DEEPEST = 12;
/** Pictures looked at; a page that places more is made of tiles of one picture. */
const MOST = 10_000;

/** The pictures that a page and its forms place, in the order they are drawn. */
export const picturesOf = ({ scopes }: Anatomy): PlacedPicture[] => {
  const found: PlacedPicture[] = [];
  const byStream = new Map(scopes.flatMap((scope) => (scope.ref ? [[scope.ref.toString(), scope] as const] : [])));
  const follow = (scope: Scope, outer: Matrix, depth: number): void => {
    let now = outer;
    const saved: Matrix[] = [];
    for (const { operator, operands } of scope.operations) {
      if (operator === "q") saved.push(now);
      else if (operator === "Q") now = saved.pop() ?? outer;
      else if (operator === "cm") now = multiply(now, matrixOf(operands));
      else if (operator === "Do" && found.length < MOST) {
        const objects = scope.resources.lookupMaybe(PDFName.of("XObject"), PDFDict);
        const key = PDFName.of(String(operands[0]).slice(1));
        const object = objects?.lookup(key);
        if (!(object instanceof PDFRawStream)) continue;
        const inner = byStream.get(String(objects?.get(key)));
        const [width, height] = [numberIn(object.dict, "Width"), numberIn(object.dict, "Height")];
        if (inner && depth < DEEPEST) follow(inner, multiply(now, formMatrix(object.dict)), depth + 1);
        else if (width && height) found.push({ width, height, matrix: now });
      }
    }
  };
  const page = scopes.find(({ ref }) => !ref);
  if (page) follow(page, IDENTITY, 0);
  return found;
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
