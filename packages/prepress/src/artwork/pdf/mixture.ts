import { createHash } from "node:crypto";
import {
  decodePDFRawStream,
  PDFArray,
  type PDFContext,
  PDFDict,
  PDFDocument,
  PDFName,
  type PDFObject,
  PDFRawStream,
  PDFRef,
} from "../../pdf-lib.ts";
import type { Spots } from "../../prepared.ts";

/** Objects within objects: colour spaces and functions nest no deeper. */
const DEEPEST = 12;
/** How a stream is packed is no part of what it says. */
const PACKING = ["/Length", "/Filter", "/DecodeParms"];

/**
 * What stands for a spot ink on a screen or a press without it: alternate space and tint transform of a Separation, as a hash
 * that is equal for equal mixtures, however a file writes them down.
 */
export const mixtureOf = (separation: PDFArray, context: PDFContext): string => {
  const mixed = [2, 3].map((i) => (separation.size() > i ? written(separation.get(i), context) : "")).join(" ");
  return createHash("sha256").update(mixed).digest("hex").slice(0, 32);
};

const written = (object: PDFObject, context: PDFContext, deep = 0): string => {
  if (deep > DEEPEST) return "...";
  if (object instanceof PDFRef) {
    const at = context.lookup(object);
    return at ? written(at, context, deep + 1) : "null";
  }
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
      .filter(([key]) => !PACKING.includes(key))
      .sort(([a], [b]) => (a < b ? -1 : 1))
      .map(([key, value]) => `${key} ${written(value, context, deep + 1)}`)
      .join(" ")}>>`;
  return String(object);
};

/** Every spot ink of a document by its name, with each way it is mixed there. */
export const mixturesIn = async (bytes: Uint8Array): Promise<Spots> => {
  const { context } = await PDFDocument.load(bytes, { updateMetadata: false });
  const found = new Map<string, Set<string>>();
  const walk = (object: PDFObject): void => {
    if (object instanceof PDFDict) for (const one of object.values()) walk(one);
    else if (object instanceof PDFRawStream) walk(object.dict);
    else if (object instanceof PDFArray) {
      const [kind, ink] = [
        object.size() > 1 ? object.get(0) : undefined,
        object.size() > 1 ? object.get(1) : undefined,
      ];
      if (kind === PDFName.of("Separation") && ink instanceof PDFName) {
        const name = ink.decodeText();
        found.set(name, (found.get(name) ?? new Set()).add(mixtureOf(object, context)));
      }
      for (const one of object.asArray()) walk(one);
    }
  };
  for (const [, object] of context.enumerateIndirectObjects()) walk(object);
  return Object.fromEntries([...found].sort(([a], [b]) => (a < b ? -1 : 1)).map(([ink, ways]) => [ink, [...ways]]));
};
