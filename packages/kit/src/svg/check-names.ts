// What a drawing calls by names that SVG does not have. Every renderer passes it over, so that it is missing without a word: a
// misspelt fill is black, a misspelt element is not there.
import { Text, type Element } from "domhandler";
import type { Ledger } from "../ledger.ts";
import type { Styles } from "./cascade.ts";
import { nameOf } from "./parse.ts";
import { ATTRIBUTES, ELEMENTS, GEOMETRY, nearest, SHORT, slipped } from "./svg-names.ts";

/** Elements in which letters are drawn, or are no drawing. */
const LETTERED =
  /^(text|tspan|textPath|tref|altGlyph|a|title|desc|style|script|metadata|text(Area)?|flow\w+|switch|unknown)$/;
const LINK = "xlink:href";

/** The names met so far, with what they were meant to be. */
export class Names {
  readonly #attributes = new Map<string, string | undefined>();

  /** The attribute that a name was meant to be, where it is none and one is near. */
  meant(name: string): string | undefined {
    if (ATTRIBUTES.has(name) || name.startsWith("-") || name.length < SHORT - 1) return undefined;
    // What is left of it has another namespace, or a slip.
    if (name === LINK || slipped(name, LINK)) return "href";
    if (!this.#attributes.has(name)) this.#attributes.set(name, nearest(name, ATTRIBUTES));
    return this.#attributes.get(name);
  }
}

/** Names of one element and what stands in it. `source`: the element as it was read, for its styles. */
export const checkNames = (element: Element, source: Element, styles: Styles, names: Names, report: Ledger): void => {
  const { name, attribs, children } = element;
  if (!ELEMENTS.has(name) && !name.includes(":"))
    report.say("element-unknown", { element: nameOf(source), meant: nearest(name, ELEMENTS) });
  const own = styles.winners(source);
  for (const written of [...Object.keys(attribs), ...own.keys()]) {
    const meant = names.meant(written) ?? geometryMeant(name, written, attribs);
    if (meant === undefined || attribs[meant] !== undefined || own.has(meant)) continue;
    report.say("attribute-misspelt", { element: nameOf(source), written, meant });
  }
  if (LETTERED.test(name)) return;
  const stray = children.find((child): child is Text => child instanceof Text && /\S/.test(child.data));
  if (stray) report.say("text-stray", { element: nameOf(source), text: stray.data.trim().slice(0, 60) });
};

/** Of short names only what the element lacks, from what it has no use for: `ax`, `c` or `x` of a circle without `cx`. */
const geometryMeant = (element: string, written: string, attribs: Element["attribs"]): string | undefined => {
  const places = GEOMETRY[element];
  if (!places || written.length >= SHORT || written === "id" || places.includes(written) || written.includes(":"))
    return undefined;
  return places.find((one) => attribs[one] === undefined && slipped(written, one));
};
