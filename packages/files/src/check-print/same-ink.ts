import { mixtureOf } from "@kitforme/prepress";
import type { PDFArray, PDFContext } from "../pdf-lib.ts";
import type { Fault } from "./fault.ts";

/** An ink of one name that two parts of the file mix differently: a press has one can of it. */
export const sameInk = (
  separations: readonly { readonly array: PDFArray; readonly object: number }[],
  context: PDFContext,
): Fault[] => {
  const known = new Map<string, string>();
  return separations.flatMap(({ array, object }) => {
    const ink = array.get(1).toString();
    const mixed = mixtureOf(array, context);
    const first = known.get(ink);
    known.set(ink, first ?? mixed);
    return first === undefined || first === mixed
      ? []
      : [{ says: `The ink ${ink.slice(1)} is mixed in two ways in one file.`, object }];
  });
};
