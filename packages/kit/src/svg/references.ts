import type { Element } from "domhandler";
import { walkElements } from "./parse.ts";

/** Elements by id; of several with one id the first counts, as in a browser. */
export type Ids = ReadonlyMap<string, Element>;

export const idsOf = (root: Element): Ids => {
  const ids = new Map<string, Element>();
  for (const element of walkElements(root)) {
    const id = element.attribs["id"];
    if (id !== undefined && !ids.has(id)) ids.set(id, element);
  }
  return ids;
};

/** What an element's href points at inside the drawing. */
export const targetOf = (element: Element, ids: Ids): Element | undefined => {
  const href = element.attribs["href"]?.trim();
  if (!href?.startsWith("#")) return undefined;
  const id = href.slice(1);
  const direct = ids.get(id);
  if (direct || !id.includes("%")) return direct;
  try {
    return ids.get(decodeURIComponent(id));
  } catch {
    return undefined;
  }
};

/** Elements that are never drawn where they stand. */
export const NEVER_DRAWN = new Set([
  "defs",
  "symbol",
  "clipPath",
  "mask",
  "pattern",
  "marker",
  "linearGradient",
  "radialGradient",
  "filter",
  "style",
  "metadata",
  "title",
  "desc",
  "view",
]);

/** Clips and masks: what stands in them shapes other things and is itself neither printed nor cut. */
export const CLIPPING = new Set(["clipPath", "mask"]);
