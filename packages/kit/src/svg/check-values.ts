// Values of the artwork that no renderer can read. Each is passed over, and a paint becomes black, an outline ends at the fault, a
// shape lies at 0, without a word from anybody: here they are named.
import { lexer } from "./css-tree.ts";
import type { Element } from "domhandler";
import type { Ledger } from "../ledger.ts";
import type { Styles } from "./cascade.ts";
import { pathFault } from "./line-of.ts";
import { nameOf } from "./parse.ts";
import type { Ids } from "./references.ts";
import { parseTransform } from "./transform-list.ts";
import { splitLength } from "./units.ts";

const WIDE = /^(inherit|initial|unset|revert|revert-layer)$/i;
const PAINT = /^(none|currentcolor|context-fill|context-stroke)$/i;
const UNITS = /^(|px|mm|cm|in|pt|pc|q|%|r?em|ex|ch|v(w|h|min|max)|r?lh)$/;

type Fault = (value: string, colours: Colours) => string | undefined;

const isLength = (value: string): boolean => {
  const read = splitLength(value);
  return /^\s*auto\s*$/i.test(value) || (read !== undefined && UNITS.test(read.unit));
};
const length: Fault = (value) => (isLength(value) ? undefined : "a length is expected");
const lengths: Fault = (value) =>
  /^\s*none\s*$/i.test(value) ||
  value
    .trim()
    .split(/\s*,\s*|\s+/)
    .every((one) => isLength(one))
    ? undefined
    : "lengths are expected";
const number: Fault = (value) => {
  const read = splitLength(value);
  return read && (read.unit === "" || read.unit === "%") ? undefined : "a number is expected";
};
const oneOf =
  (...known: readonly string[]): Fault =>
  (value) =>
    known.includes(value.trim()) ? undefined : `one of ${known.join(", ")} is expected`;
const units = oneOf("userSpaceOnUse", "objectBoundingBox");
const rule = oneOf("nonzero", "evenodd");
const transform: Fault = (value) => ("matrix" in parseTransform(value, false) ? undefined : "transforms are expected");

/** Colours of one drawing, which says the same few a thousand times. */
export class Colours {
  readonly #known = new Map<string, boolean>();

  are(value: string): boolean {
    const known = this.#known.get(value) ?? lexer.match("<color>", value).error === null;
    this.#known.set(value, known);
    return known;
  }
}
const paint: Fault = (value, colours) => {
  const behind = value
    .trim()
    .replace(/^url\(\s*("[^"]*"|'[^']*'|[^)]*)\s*\)/i, "")
    .trim();
  // Other functions have been written plainly, or refused, before.
  if (/(?<![\w-])(?!(rgb|hsl)a?\()[\w-]+\(/i.test(behind)) return undefined;
  return behind === "" || PAINT.test(behind) || colours.are(behind) ? undefined : "a colour is expected";
};

const all = (names: string, fault: Fault): [string, Fault][] => names.split(" ").map((name) => [name, fault]);

const FAULTS: ReadonlyMap<string, Fault> = new Map([
  ...all("fill stroke color stop-color flood-color lighting-color", paint),
  ...all("opacity fill-opacity stroke-opacity stop-opacity flood-opacity offset stroke-miterlimit", number),
  ...all("cx cy r rx ry width height x1 y1 x2 y2 fx fy fr stroke-width stroke-dashoffset", length),
  ...all("x y dx dy stroke-dasharray", lengths),
  ...all("gradientTransform patternTransform", transform),
  ...all("gradientUnits clipPathUnits maskUnits patternUnits maskContentUnits patternContentUnits filterUnits", units),
  ...all("fill-rule clip-rule", rule),
  ["stroke-linecap", oneOf("butt", "round", "square")],
  ["stroke-linejoin", oneOf("miter", "round", "bevel", "arcs", "miter-clip", "crop", "fallback")],
  ["spreadMethod", oneOf("pad", "reflect", "repeat")],
  ["text-anchor", oneOf("start", "middle", "end")],
  ["visibility", oneOf("visible", "hidden", "collapse")],
]);

/** Properties that name something of the drawing. */
const NAMING = /^(clip-path|mask|filter|marker|marker-(start|mid|end))$/;
/** Elements that are nothing without what they name. */
const FOLLOWING = /^(use|textPath|linearGradient|radialGradient|pattern)$/;

/** What the name in `url(#name)` is; undefined for anything else. */
const namedIn = (value: string): string | undefined =>
  /^\s*url\(\s*["']?#([^"')]*)["']?\s*\)/i.exec(value)?.[1]?.trim();

/** Values of one element. `source`: the element as it was read, for its styles. */
export const checkValues = (
  element: Element,
  source: Element,
  { styles, ids, colours }: { readonly styles: Styles; readonly ids: Ids; readonly colours: Colours },
  report: Ledger,
): void => {
  const { name, attribs } = element;
  const own = styles.winners(source);
  const me = nameOf(source);
  const judge = (property: string, value: string): void => {
    if (value.trim() === "" || WIDE.test(value.trim())) return;
    const reference = NAMING.test(property) ? namedIn(value) : undefined;
    if (reference !== undefined && !ids.has(reference))
      report.say("reference-missing", { element: me, property, reference: `#${reference}` });
    if (NAMING.test(property) && !/^\s*[a-z-]+(\(|\s|$)/i.test(value))
      report.say("value-ignored", {
        element: me,
        attribute: property,
        value: value.slice(0, 100),
        why: "url() is expected",
      });
    const fault = FAULTS.get(property);
    // What is reckoned out has been settled or refused before.
    if (!fault || (value.includes("(") && fault !== paint && fault !== transform)) return;
    const why = fault(value, colours);
    if (why) report.say("value-ignored", { element: me, attribute: property, value: value.slice(0, 100), why });
  };
  for (const [property, value] of Object.entries(attribs)) if (!own.has(property)) judge(property, value);
  for (const [property, value] of own) judge(property, value);
  const d = name === "path" ? attribs["d"]?.trim() : undefined;
  const why = d && d !== "none" ? pathFault(d) : undefined;
  if (why) report.say("value-ignored", { element: me, attribute: "d", value: (d ?? "").slice(0, 100), why });
  const href = FOLLOWING.test(name) ? attribs["href"]?.trim() : undefined;
  if (href?.startsWith("#") && !ids.has(href.slice(1)) && !ids.has(unescaped(href.slice(1))))
    report.say("reference-missing", { element: me, property: "href", reference: href.slice(0, 100) });
};

const unescaped = (name: string): string => {
  try {
    return decodeURIComponent(name);
  } catch {
    return name;
  }
};
