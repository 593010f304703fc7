import {
  PDFArray,
  PDFBool,
  PDFDict,
  type PDFDocument,
  PDFHexString,
  PDFName,
  type PDFObject,
  PDFString,
} from "../../pdf-lib.ts";

const name = (key: string): PDFName => PDFName.of(key);
/** Set in layers that do not show, so that they are known again in a copy, where references are others. */
const HIDDEN = name("KitformeHidden");

const refsIn = (array: PDFArray | undefined): ReadonlySet<string> =>
  new Set(array ? array.asArray().map((entry) => entry.toString()) : []);

/**
 * Names of the layers that the document's default configuration leaves invisible (ISO 32000, 8.11.4.3: /D with /BaseState,
 * /ON, /OFF) or that print never by their own usage; they are marked in the document for `isHidden`. Taking such a page over
 * would print them: a form XObject has no catalog, and without one every layer shows (seen in three renderers).
 */
export const hiddenLayers = (document: PDFDocument): string[] => {
  const properties = document.catalog.lookupMaybe(name("OCProperties"), PDFDict);
  const groups = properties?.lookupMaybe(name("OCGs"), PDFArray);
  if (!properties || !groups) return [];
  const config = properties.lookupMaybe(name("D"), PDFDict);
  const on = refsIn(config?.lookupMaybe(name("ON"), PDFArray));
  const off = refsIn(config?.lookupMaybe(name("OFF"), PDFArray));
  const base = config?.lookup(name("BaseState"));
  return groups.asArray().flatMap((entry, index) => {
    const group = groups.lookupMaybe(index, PDFDict);
    const ref = entry.toString();
    const invisible = off.has(ref) || (base === name("OFF") && !on.has(ref));
    if (!group || !(invisible || printsNever(group))) return [];
    group.set(HIDDEN, PDFBool.True);
    return [titleOf(group)];
  });
};

/** Whether content of a layer, or of a membership in several (ISO 32000, 8.11.2.2), does not show. */
export const isHidden = (layer: PDFObject | undefined): boolean => {
  if (!(layer instanceof PDFDict)) return false;
  if (layer.lookup(name("Type")) !== name("OCMD")) return layer.has(HIDDEN);
  const expression = layer.lookup(name("VE"));
  if (expression instanceof PDFArray) return !holds(expression, 0);
  const groups = layer.lookup(name("OCGs"));
  const all = (groups instanceof PDFArray ? groups.asArray().map((_, i) => groups.lookup(i)) : [groups]).filter(
    (group): group is PDFDict => group instanceof PDFDict,
  );
  if (all.length === 0) return false;
  const policy = layer.lookup(name("P"));
  if (policy === name("AllOn")) return all.some(isHidden);
  if (policy === name("AnyOff")) return !all.some(isHidden);
  if (policy === name("AllOff")) return !all.every(isHidden);
  return all.every(isHidden);
};

const holds = (expression: PDFObject | undefined, depth: number): boolean => {
  if (!(expression instanceof PDFArray)) return !isHidden(expression);
  if (depth > 32) return true;
  const [operator] = [expression.lookup(0)];
  const operands = expression
    .asArray()
    .map((_, i) => expression.lookup(i))
    .slice(1);
  if (operator === name("Not")) return !holds(operands[0], depth + 1);
  if (operator === name("Or")) return operands.some((one) => holds(one, depth + 1));
  return operands.every((one) => holds(one, depth + 1));
};

const printsNever = (group: PDFDict): boolean => {
  const print = group.lookupMaybe(name("Usage"), PDFDict)?.lookupMaybe(name("Print"), PDFDict);
  return print?.lookup(name("PrintState")) === name("OFF");
};

const titleOf = (group: PDFDict): string => {
  const title = group.lookup(name("Name"));
  return title instanceof PDFString || title instanceof PDFHexString ? title.decodeText() : "unnamed";
};
