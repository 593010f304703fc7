import { PDFArray, PDFDict, type PDFDocument, PDFHexString, PDFName, PDFString } from "pdf-lib";

const name = (key: string): PDFName => PDFName.of(key);

const refsIn = (array: PDFArray | undefined): ReadonlySet<string> =>
  new Set(array ? array.asArray().map((entry) => entry.toString()) : []);

/**
 * Names of the layers that the document's default configuration leaves invisible (ISO 32000, 8.11.4.3: /D with /BaseState,
 * /ON, /OFF) or that print never by their own usage. Taking such a page over would print them: a form XObject has no
 * catalog, and without one every layer shows (seen in three renderers).
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
    return group && (invisible || printsNever(group)) ? [titleOf(group)] : [];
  });
};

const printsNever = (group: PDFDict): boolean => {
  const print = group.lookupMaybe(name("Usage"), PDFDict)?.lookupMaybe(name("Print"), PDFDict);
  return print?.lookup(name("PrintState")) === name("OFF");
};

const titleOf = (group: PDFDict): string => {
  const title = group.lookup(name("Name"));
  return title instanceof PDFString || title instanceof PDFHexString ? title.decodeText() : "unnamed";
};
