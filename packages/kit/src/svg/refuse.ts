// What a drawing must not hold: anything that reaches outside, runs, moves, or that nobody here can draw.
import type { Element } from "domhandler";
import type { Ledger } from "../ledger.ts";
import type { Styles } from "./cascade.ts";
import { nameOf, walkElements } from "./parse.ts";

const ANIMATION = /^(animate|animateTransform|animateMotion|animateColor|set|discard)$/;
const FOREIGN = /^(foreignObject|iframe|video|audio|canvas|object|embed|tref)$/;
/** Nothing to see: no size, or nothing in it. Exporters leave such behind. */
const isEmpty = ({ name, attribs, children }: Element): boolean =>
  name === "foreignObject" && (children.length === 0 || /^0*\.?0*$/.test(attribs["width"] ?? "100"));

/** References in a CSS value that are not to this drawing. */
const outsideIn = (value: string): string | undefined => {
  for (const match of value.matchAll(/url\(\s*(?:"([^"]*)"|'([^']*)'|([^)]*))\s*\)/gi)) {
    const reference = (match[1] ?? match[2] ?? match[3] ?? "").trim();
    if (reference !== "" && !reference.startsWith("#")) return reference.slice(0, 200);
  }
  return /\b(?:image-set|src|image)\s*\(/i.test(value) ? value.slice(0, 200) : undefined;
};

/** Everything in the drawing that is refused by name, and reported; the drawing is not used when there is any. */
export const refuse = (root: Element, styles: Styles, report: Ledger): void => {
  for (const element of walkElements(root)) {
    const { name, attribs } = element;
    const me = () => nameOf(element);
    if (name === "script") report.say("script-refused", { element: me() });
    else if (ANIMATION.test(name)) report.say("element-refused", { element: me(), why: "moves; paper does not" });
    else if (FOREIGN.test(name) && !isEmpty(element))
      report.say("element-refused", { element: me(), why: "cannot be printed from a drawing" });
    const href = attribs["href"]?.trim();
    if (href && !href.startsWith("#") && name !== "a") {
      // Pictures as data have been read by `embedPictures`; so have those that the kit holds.
      if (!(/^data:/i.test(href) && (name === "image" || name === "feImage")))
        report.say("external-reference", { element: me(), reference: href.slice(0, 200) });
    }
    for (const [attribute, value] of Object.entries(attribs)) {
      if (/^on[a-z]/i.test(attribute)) report.say("script-refused", { element: me() });
      if (attribute === "style" || attribute === "href" || !value.includes("(")) continue;
      const outside = outsideIn(value);
      if (outside) report.say("external-reference", { element: me(), reference: outside });
    }
    for (const value of styles.winners(element).values()) {
      const outside = value.includes("(") ? outsideIn(value) : undefined;
      if (outside) report.say("external-reference", { element: me(), reference: outside });
    }
  }
};
