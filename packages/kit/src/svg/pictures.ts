// Pictures in a drawing: embedded as data, or a file of the kit. Each comes out as base64 data that says truly what it is; a
// drawing in a drawing is read like any other and put in as it came out, so that nothing of it reaches a renderer unread.
import { formatOf, kindOf } from "../artwork-format.ts";
import type { Ledger } from "../ledger.ts";
import type { Element } from "domhandler";
import { nameOf, walkElements } from "./parse.ts";

/** Bytes of one picture in a drawing. */
const LARGEST_PICTURE = 48 * 1024 * 1024;

/** Kinds of picture that prepress can open. */
const MIME: Readonly<Record<string, string>> = {
  png: "image/png",
  jpeg: "image/jpeg",
  tiff: "image/tiff",
  webp: "image/webp",
  avif: "image/avif",
};

/** Files that a drawing names, by the name as written; a drawing among them with the files that it names in its turn. */
export type NamedFiles = ReadonlyMap<string, NamedFile>;
export interface NamedFile {
  readonly bytes: Uint8Array;
  readonly files: NamedFiles;
}

export interface PictureSource {
  readonly files: NamedFiles;
  /**
   * A drawing in the drawing to plain SVG that is embedded as a picture; undefined where it takes the element's place, and
   * where it has faults, which are reported.
   */
  readonly nest: (file: NamedFile, name: string, element: Element) => string | undefined;
}

/** Drawings in drawings, one in the other. */
export const DEEPEST_NESTING = 3;

const DATA = /^data:([^,]*),/i;

/** The bytes of a data address; undefined when it is not readable. */
const bytesOf = (href: string): Uint8Array | undefined => {
  const head = DATA.exec(href.slice(0, 1000));
  if (!head) return undefined;
  const data = href.slice(head[0].length);
  try {
    if (!/;\s*base64\s*$/i.test(head[1] ?? "")) return new TextEncoder().encode(decodeURIComponent(data));
    const text = data.includes("%") ? decodeURIComponent(data) : data;
    return Uint8Array.from(atob(text.replace(/\s+/g, "")), (c) => c.charCodeAt(0));
  } catch {
    return undefined;
  }
};

const base64 = (bytes: Uint8Array): string => {
  let text = "";
  for (let i = 0; i < bytes.length; i += 8192) text += String.fromCharCode(...bytes.subarray(i, i + 8192));
  return btoa(text);
};

/** A picture put into its element, whose address was taken out; whether it is made of pixels. */
const embed = (element: Element, href: string, source: PictureSource, report: Ledger): boolean => {
  const fault = (why: string): false => {
    report.say("data-image-refused", { element: nameOf(element), why });
    return false;
  };
  const embedded = /^data:/i.test(href);
  if (embedded && href.length * 0.75 > 1.4 * LARGEST_PICTURE) return fault(`is larger than ${LARGEST_PICTURE} bytes`);
  const named = embedded ? undefined : source.files.get(href);
  const bytes = embedded ? bytesOf(href) : named?.bytes;
  if (!bytes) return fault("is not readable");
  if (bytes.length > LARGEST_PICTURE) return fault(`is larger than ${LARGEST_PICTURE} bytes`);
  const format = formatOf(bytes);
  if (format === "svg") {
    const svg = source.nest(named ?? { bytes, files: new Map() }, embedded ? nameOf(element) : href, element);
    if (svg !== undefined)
      element.attribs["href"] = `data:image/svg+xml;base64,${base64(new TextEncoder().encode(svg))}`;
    return false;
  }
  const mime = format === undefined ? undefined : MIME[format];
  if (mime === undefined) return fault(`is ${kindOf(bytes) ?? "of no kind known here"}, which is not drawn`);
  element.attribs["href"] = `data:${mime};base64,${base64(bytes)}`;
  return true;
};

/** Settles every picture of a drawing in place. Gives the elements of those that are made of pixels. */
export const embedPictures = (root: Element, source: PictureSource, report: Ledger): ReadonlySet<Element> => {
  const pixels = new Set<Element>();
  for (const element of walkElements(root)) {
    if (element.name !== "image" && element.name !== "feImage") continue;
    const href = element.attribs["href"]?.trim() ?? "";
    if (href === "" || href.startsWith("#")) continue;
    if (!/^data:/i.test(href) && !source.files.has(href)) continue;
    delete element.attribs["href"];
    if (embed(element, href, source, report)) pixels.add(element);
  }
  return pixels;
};

/** What a drawing names as files: the addresses of its text that are neither data, nor in the drawing, nor of a network. */
export const filesNamedIn = (text: string): readonly string[] => {
  const named = new Set<string>();
  for (const found of text.matchAll(/\bhref\s*=\s*["'](?!\s*(?:data:|#))([^"'<>]{1,1000})["']/gi)) {
    const name = (found[1] ?? "").trim();
    if (!/^[a-z][a-z\d+.-]*:/i.test(name) && !name.startsWith("//")) named.add(name);
    if (named.size >= MOST_FILES) break;
  }
  return [...named];
};
const MOST_FILES = 200;
