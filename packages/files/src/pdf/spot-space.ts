import { PDFArray, type PDFContext, PDFDict, PDFName, type PDFObject, PDFRawStream } from "../pdf-lib.ts";

const DEEPEST = 12;

/**
 * The colour space of a spot ink as the artwork in a document has it: one name is one mixture through a whole file. `All`, every
 * plate of the sheet, is made where no artwork brings it.
 *
 * @throws when no artwork has such an ink: whoever asks for it has it from there
 */
export const spotSpace = (context: PDFContext, ink: string): PDFObject => {
  for (const [, object] of context.enumerateIndirectObjects()) {
    const found = separationIn(object, ink, 0);
    if (found) return found;
  }
  if (ink !== "All") throw new Error(`no artwork of the sheet has the spot ink ${ink}`);
  const tint = context.obj({ FunctionType: 2, Domain: [0, 1], C0: [0, 0, 0, 0], C1: [1, 1, 1, 1], N: 1 });
  return context.obj([PDFName.of("Separation"), PDFName.of("All"), PDFName.of("DeviceCMYK"), tint]);
};

const separationIn = (object: PDFObject, ink: string, deep: number): PDFArray | undefined => {
  if (deep > DEEPEST) return undefined;
  const inside =
    object instanceof PDFArray
      ? object.asArray()
      : object instanceof PDFRawStream
        ? object.dict.values()
        : object instanceof PDFDict
          ? object.values()
          : [];
  if (object instanceof PDFArray && object.size() === 4 && object.get(0) === PDFName.of("Separation")) {
    const name = object.get(1);
    if (name instanceof PDFName && name.decodeText() === ink) return object;
  }
  for (const one of inside) {
    const found = separationIn(one, ink, deep + 1);
    if (found) return found;
  }
  return undefined;
};
