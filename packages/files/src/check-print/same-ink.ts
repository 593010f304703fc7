import { createHash } from "node:crypto";
import { decodePDFRawStream, PDFArray, type PDFContext, PDFDict, type PDFObject, PDFRawStream, PDFRef } from "pdf-lib";
import type { Fault } from "./fault.ts";

/** Objects within objects: colour spaces and functions nest no deeper. */
const DEEPEST = 12;

/** An ink of one name that two parts of the file mix differently: a press has one can of it. */
export const sameInk = (
  separations: readonly { readonly array: PDFArray; readonly object: number }[],
  context: PDFContext,
): Fault[] => {
  const known = new Map<string, string>();
  return separations.flatMap(({ array, object }) => {
    const ink = array.get(1).toString();
    const mixed = [2, 3].map((i) => written(array.get(i), context)).join(" ");
    const first = known.get(ink);
    known.set(ink, first ?? mixed);
    return first === undefined || first === mixed
      ? []
      : [{ says: `The ink ${ink.slice(1)} is mixed in two ways in one file.`, object }];
  });
};

/** An object written out with what its references lead to, so that equal ones read alike. */
const written = (object: PDFObject | undefined, context: PDFContext, deep = 0): string => {
  if (deep > DEEPEST) return "...";
  if (object instanceof PDFRef) return written(context.lookup(object), context, deep + 1);
  if (object instanceof PDFArray)
    return `[${object
      .asArray()
      .map((one) => written(one, context, deep + 1))
      .join(" ")}]`;
  if (object instanceof PDFRawStream) {
    const content = createHash("sha256").update(decodePDFRawStream(object).decode()).digest("hex");
    return `${written(object.dict, context, deep + 1)}${content}`;
  }
  if (object instanceof PDFDict)
    return `<<${object
      .entries()
      .map(([key, value]) => [key.asString(), value] as const)
      // How a stream is packed is no part of what it says.
      .filter(([key]) => !["/Length", "/Filter", "/DecodeParms"].includes(key))
      .sort(([a], [b]) => (a < b ? -1 : 1))
      .map(([key, value]) => `${key} ${written(value, context, deep + 1)}`)
      .join(" ")}>>`;
  return String(object);
};
