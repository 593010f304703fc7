// Values that mean something to a browser and nothing, or something else, to what draws the artwork: `var()` is settled here,
// a paint with an ICC colour keeps the sRGB colour that stands before it, and whatever nobody here can draw is refused by
// name. A paint that cannot be read is black to most renderers, and a clip that cannot be read is no clip.
import type { Element } from "domhandler";
import type { Ledger } from "../ledger.ts";
import type { Styles, Winners } from "./cascade.ts";
import { fontProperties } from "./font-shorthand.ts";
import { elementsOf, nameOf } from "./parse.ts";
import { plainColours } from "./plain-colour.ts";
import type { Ids } from "./references.ts";
import { substituteVariables } from "./variables.ts";

const PAINTS = new Set(["fill", "stroke", "color", "stop-color", "flood-color", "lighting-color", "solid-color"]);

/** Properties whose value is asked for; attributes of the same name too. */
const CHECKED =
  /^(fill|stroke|color|stop-color|flood-color|lighting-color|solid-color|(fill|stroke|stop|flood)-opacity|opacity|stroke-(width|dasharray|dashoffset|miterlimit|linecap|linejoin)|clip-path|mask|mask-image|filter|marker(-\w+)?|font(-\w+)?|letter-spacing|word-spacing|display|visibility|d|x|y|r|rx|ry|cx|cy|width|height|transform|mix-blend-mode|text-anchor)$/;

/** A colour of the press behind a colour of the screen, as SVG 1.1 (section 12.3) and CSS Color 5 write it. */
const PRESS_COLOUR = /\b(icc-color|icc-named-color|device-(?:cmyk|gray|rgb|nchannel)|cielab|cielch|cielchab)\s*\(/i;
/** Colour functions that the renderers of artwork do not draw alike, or not at all. */
const SCREEN_COLOUR = /(?:^|[\s,(])(lab|lch|oklab|oklch|color|color-mix|light-dark|contrast-color)\s*\(/i;
const ARITHMETIC = /\b(calc|min|max|clamp|env|attr)\s*\(/i;
const GRADIENTS = /^(linearGradient|radialGradient|pattern)$/;
/** Paint servers of drafts that no renderer of artwork knows. */
const UNDRAWN_PAINT = /^(mesh|meshgradient|hatch|solidcolor)$/i;

/** The path data of `path("...")`; undefined for anything else. */
const pathIn = (value: string): string | undefined => /^path\(\s*(["'])([^"']*)\1\s*\)$/.exec(value)?.[2];

/** The text from a function's name to its closing bracket. */
const callAt = (value: string, start: number): string => {
  let depth = 0;
  for (let i = value.indexOf("(", start); i < value.length; i++) {
    if (value[i] === "(") depth++;
    else if (value[i] === ")" && --depth === 0) return value.slice(start, i + 1);
  }
  return value.slice(start);
};

/** The last part of a call's arguments behind a comma at the top level: CSS Color's fallback for a press colour. */
const fallbackIn = (call: string): string | undefined => {
  const inner = call.slice(call.indexOf("(") + 1, -1);
  let depth = 0;
  for (let i = inner.length - 1; i >= 0; i--) {
    if (inner[i] === ")") depth++;
    else if (inner[i] === "(") depth--;
    else if (inner[i] === "," && depth === 0) {
      const last = inner.slice(i + 1).trim();
      return /^(#|[a-z]+\s*\(|[a-z]+$)/i.test(last) ? last : undefined;
    }
  }
  return undefined;
};

/** A paint without its press colours, or undefined when nothing else is left of it. */
const screenPaint = (paint: string): string | undefined => {
  let value = paint;
  for (let found = PRESS_COLOUR.exec(value); found; found = PRESS_COLOUR.exec(value)) {
    const call = callAt(value, found.index);
    value = `${value.slice(0, found.index)} ${value.slice(found.index + call.length)}`.trim();
    if (value === "" || /^url\([^)]*\)$/i.test(value)) value = `${value} ${fallbackIn(call) ?? ""}`.trim();
  }
  return value === "" ? undefined : value.replace(/\s+/g, " ");
};

/**
 * Settles the values of all elements: presentation attributes in place, style declarations in the styles that come back.
 * Told: what was taken instead, and what cannot be drawn.
 */
export const plainValues = (root: Element, styles: Styles, ids: Ids, report: Ledger): Styles => {
  const settled = new Map<Element, Winners>();
  const paintFault = (element: Element, value: string): void => {
    for (const [, quoted1, quoted2, bare] of value.matchAll(/url\(\s*(?:"([^"]*)"|'([^']*)'|([^)]*))\s*\)/gi)) {
      const reference = (quoted1 ?? quoted2 ?? bare ?? "").trim();
      if (!reference.startsWith("#")) continue;
      const target = ids.get(reference.slice(1));
      if (target && UNDRAWN_PAINT.test(target.name))
        report.say("paint-not-drawn", { element: nameOf(element), paint: target.name, reference });
      else if (!target || !GRADIENTS.test(target.name))
        report.say("paint-missing", { element: nameOf(element), reference, value: value.slice(0, 100) });
    }
  };
  /** The value as it can be drawn; undefined when it must not be used. */
  const plain = (element: Element, property: string, text: string, variables: Winners): string | undefined => {
    let value = text;
    if (/\bvar\s*\(/i.test(value)) {
      const put = substituteVariables(value, variables);
      if ("missing" in put) {
        report.say("variable-unset", { element: nameOf(element), property, variable: put.missing });
        return undefined;
      }
      value = put.value;
    }
    if (!CHECKED.test(property)) return value;
    if (PAINTS.has(property)) {
      if (PRESS_COLOUR.test(value)) {
        const screen = screenPaint(value);
        const fact = { element: nameOf(element), property, value: value.slice(0, 120) };
        if (screen === undefined) report.say("colour-not-drawn", fact);
        else report.say("colour-of-screen", { ...fact, taken: screen });
        value = screen ?? value;
      }
      value = plainColours(value);
      if (SCREEN_COLOUR.test(value))
        report.say("colour-not-drawn", { element: nameOf(element), property, value: value.slice(0, 120) });
      if ((property === "fill" || property === "stroke") && /url\(/i.test(value)) paintFault(element, value);
    }
    if (ARITHMETIC.test(value))
      report.say("value-not-drawn", { element: nameOf(element), property, value: value.slice(0, 120) });
    else if (/^mask(-image)?$/.test(property) && /gradient\s*\(/i.test(value))
      report.say("value-not-drawn", { element: nameOf(element), property, value: value.slice(0, 120) });
    return value;
  };
  const visit = (element: Element, inherited: Winners): void => {
    const own = styles.winners(element);
    let variables = inherited;
    for (const [property, value] of own)
      if (property.startsWith("--")) {
        if (variables === inherited) variables = new Map(inherited);
        (variables as Map<string, string>).set(property, value);
      }
    for (const [name, text] of Object.entries(element.attribs)) {
      if (!text.includes("(") || !(CHECKED.test(name) || /\bvar\s*\(/.test(text)) || name === "style") continue;
      // What a declaration wins over is never looked at.
      if (own.has(name)) continue;
      const value = plain(element, name, text, variables);
      if (value === undefined) delete element.attribs[name];
      else element.attribs[name] = value;
    }
    if ([...own].some(([property, value]) => /^(--|font$)/.test(property) || value.includes("("))) {
      const winners = new Map<string, string>();
      for (const [property, text] of own) {
        if (property.startsWith("--")) continue;
        const value = text.includes("(") ? plain(element, property, text, variables) : text;
        const fonts = property === "font" && value !== undefined ? fontProperties(value) : undefined;
        if (fonts) {
          for (const [name, one] of fonts) {
            winners.delete(name);
            winners.set(name, one);
          }
          continue;
        }
        const outline = property === "d" && element.name === "path" ? pathIn(value ?? "") : undefined;
        // The outline of a path in a style is one to browsers; here it is where every reader looks for it.
        if (outline !== undefined) element.attribs["d"] = outline;
        else if (value !== undefined) {
          winners.delete(property);
          winners.set(property, value);
        } else delete element.attribs[property];
      }
      settled.set(element, winners);
    }
    for (const child of elementsOf(element)) visit(child, variables);
  };
  visit(root, new Map());
  const winners = (element: Element): Winners => settled.get(element) ?? styles.winners(element);
  return { winners, own: (element, property) => winners(element).get(property) ?? element.attribs[property] };
};
