// XML to a small tree. saxes is strict and expands only the entities it is given: those of `document-type.ts`, which are plain
// texts and cannot grow. Nothing outside is ever opened.
import { createRequire } from "node:module";
import { Element, Text } from "domhandler";
import type * as Saxes from "saxes";
import type { Ledger } from "../ledger.ts";
import { MOST_EXPANDED, readDocumentType } from "./document-type.ts";
import { ELEMENTS, sameButOne } from "./svg-names.ts";
import { xmlFault } from "./xml-fault.ts";

// By `require`: `import` of a CommonJS library reads it twice, first for its exports.
const { SaxesParser } = createRequire(import.meta.url)("saxes") as typeof Saxes;

/** Elements a drawing may have: a page of map has 50,000. */
export const MOST_ELEMENTS = 200_000;
/** Nesting a drawing may have; every walk over the tree recurses as deep as this. */
export const DEEPEST = 200;
/** Characters a drawing may have; embedded pictures included. */
export const LONGEST_DRAWING = 100 * 1024 * 1024;

const SVG = "http://www.w3.org/2000/svg";
const XLINK = "http://www.w3.org/1999/xlink";
const CHUNK = 1 << 16;

const lines = new WeakMap<Element, number>();

/** An element for people: `<path id="cut">`, else its class, else its line in the file. */
export const nameOf = (element: Element): string => {
  const { id, class: kind } = element.attribs;
  if (id) return `<${element.name} id="${id.slice(0, 60)}">`;
  if (kind) return `<${element.name} class="${kind.slice(0, 60)}">`;
  return `<${element.name}> in line ${lines.get(element) ?? "?"}`;
};

export const elementsOf = (element: Element): Element[] =>
  element.children.filter((child): child is Element => child instanceof Element);

/** The element and all below it, in document order. */
export function* walkElements(element: Element): Generator<Element> {
  yield element;
  for (const child of element.children) if (child instanceof Element) yield* walkElements(child);
}

/** All text below an element. */
export const textOf = (element: Element): string =>
  element.children.map((c) => (c instanceof Text ? c.data : c instanceof Element ? textOf(c) : "")).join("");

const append = (parent: Element, child: Element | Text): void => {
  const last = parent.children.at(-1) ?? null;
  child.parent = parent;
  child.prev = last;
  if (last) last.next = child;
  parent.children.push(child);
};

/**
 * The tree of a drawing, or undefined with findings. Elements of other namespaces (editors' notes, metadata) are left out,
 * `xlink:href` becomes `href`, other prefixed attributes keep their prefix so that selectors can ask for them.
 */
export const parseSvg = (text: string, report: Ledger): Element | undefined => {
  const parser = new SaxesParser({ xmlns: true, additionalNamespaces: { xlink: XLINK } });
  let root: Element | undefined;
  let open: Element | undefined;
  let depth = 0;
  let foreign = 0;
  let count = 0;
  let plain = false;
  let done = false;
  const stop = (say: () => void): void => {
    if (!done) say();
    done = true;
  };
  parser.on("error", (e) => {
    // Elements and attributes of an editor whose declaration was lost are passed over like those that have it.
    if (!/unbound namespace prefix/.test(e.message))
      stop(() => report.say("drawing-broken", { what: xmlFault(e.message) }));
  });
  let expanded = 0;
  parser.on("doctype", (declared) => {
    const read = readDocumentType(declared);
    if ("why" in read) return stop(() => report.say("doctype-refused", { why: read.why }));
    for (const [name, entity] of read.entities)
      Object.defineProperty(parser.ENTITIES, name, {
        configurable: true,
        get: () => {
          expanded += entity.length;
          if (expanded <= MOST_EXPANDED) return entity;
          stop(() => report.say("doctype-refused", { why: `its entities add more than ${MOST_EXPANDED} characters` }));
          return "";
        },
      });
  });
  parser.on("processinginstruction", (pi) => {
    if (pi.target === "xml-stylesheet")
      stop(() => report.say("external-reference", { element: "<?xml-stylesheet?>", reference: pi.body.slice(0, 200) }));
  });
  parser.on("opentag", (tag) => {
    if (done) return;
    if (++count > MOST_ELEMENTS)
      return stop(() => report.say("drawing-too-large", { what: "elements", most: MOST_ELEMENTS }));
    if (++depth > DEEPEST)
      return stop(() => report.say("drawing-too-large", { what: "levels of nesting", most: DEEPEST }));
    if (!root && (tag.local !== "svg" || (tag.uri !== SVG && tag.uri !== "")))
      return stop(() => report.say("drawing-broken", { what: `its root is <${tag.name}>, not <svg>` }));
    // Drawings written by hand for a web page forget the namespace; nothing else in them is ambiguous.
    if (!root) plain = tag.uri === "";
    if (foreign > 0 || !(tag.uri === SVG || (plain && tag.uri === ""))) {
      // An editor's element whose declaration was lost is passed over; <pa:h> is a damaged one of the drawing.
      const unbound = foreign === 0 && tag.prefix !== "" && tag.uri === tag.prefix; // as saxes leaves it
      const meant = unbound ? sameButOne(tag.name, ELEMENTS) : undefined;
      if (meant) report.say("element-unknown", { element: `<${tag.name}> in line ${parser.line}`, meant });
      foreign++;
      return;
    }
    const attribs: Record<string, string> = Object.create(null) as Record<string, string>;
    for (const a of Object.values(tag.attributes)) {
      if (a.prefix === "xmlns" || a.name === "xmlns") continue;
      if (a.uri === XLINK && a.local === "href") attribs["href"] ??= a.value;
      else attribs[a.name] = a.value;
    }
    const element = new Element(tag.local, attribs);
    lines.set(element, parser.line);
    if (open) append(open, element);
    root ??= element;
    open = element;
  });
  parser.on("closetag", () => {
    depth--;
    if (foreign > 0) foreign--;
    else open = open?.parent instanceof Element ? open.parent : undefined;
  });
  const onText = (data: string): void => {
    if (open && foreign === 0 && (/\S/.test(data) || inText(open))) append(open, new Text(data));
  };
  parser.on("text", onText);
  parser.on("cdata", onText);
  for (let i = 0; i < text.length && !done; i += CHUNK) parser.write(text.slice(i, i + CHUNK));
  if (!done) parser.close();
  return done ? undefined : root;
};

const inText = (element: Element): boolean => /^(text|tspan|textPath|tref|a|style|title|desc)$/.test(element.name);
