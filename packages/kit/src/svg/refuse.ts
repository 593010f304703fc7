// What a drawing must not hold: anything that reaches outside, runs, moves, or that nobody here can draw.
import type { Element } from "domhandler";
import type { Ledger } from "../ledger.ts";
import type { Styles } from "./cascade.ts";
import { nameOf, walkElements } from "./parse.ts";

const ANIMATION = /^(animate|animateTransform|animateMotion|animateColor|set|discard)$/;
const FOREIGN = /^(foreignObject|iframe|video|audio|canvas|object|embed|tref|font|cursor|color-profile)$/;
/** Bytes of one embedded picture. */
const LARGEST_PICTURE = 48 * 1024 * 1024;

const STARTS: Readonly<Record<string, readonly string[]>> = {
  "image/png": ["iVBORw0KGgo"],
  "image/jpeg": ["/9j/"],
  "image/jpg": ["/9j/"],
};

/** Why an embedded picture is refused; undefined when it is PNG or JPEG by its name and by its first bytes. */
const badPicture = (href: string): string | undefined => {
  const match = /^data:([^;,]*)((?:;[^,]*)?),/i.exec(href.slice(0, 300));
  if (!match) return "is not readable";
  const kind = (match[1] ?? "").trim().toLowerCase();
  const starts = Object.hasOwn(STARTS, kind) ? STARTS[kind] : undefined;
  if (!starts) return `is ${kind || "of no kind"}, not PNG or JPEG`;
  if (!/;\s*base64\s*$/i.test(match[2] ?? "")) return "is not in base64";
  const data = href.slice(match[0].length);
  if (data.length * 0.75 > LARGEST_PICTURE) return `is larger than ${LARGEST_PICTURE} bytes`;
  if (!starts.some((s) => data.trimStart().startsWith(s))) return `does not begin like ${kind}`;
  return undefined;
};

/** References in a CSS value that are not to this drawing. */
const outsideIn = (value: string): string | undefined => {
  for (const match of value.matchAll(/url\(\s*(?:"([^"]*)"|'([^']*)'|([^)]*))\s*\)/gi)) {
    const reference = (match[1] ?? match[2] ?? match[3] ?? "").trim();
    if (reference !== "" && !reference.startsWith("#")) return reference.slice(0, 200);
  }
  return /\b(?:image-set|src|image)\s*\(/i.test(value) ? value.slice(0, 200) : undefined;
};

/** Everything in the drawing that is refused by name, told; the drawing is not used when there is any. */
export const refuse = (root: Element, styles: Styles, told: Ledger): void => {
  for (const element of walkElements(root)) {
    const { name, attribs } = element;
    const me = () => nameOf(element);
    if (name === "script") told.say("script-refused", { element: me() });
    else if (ANIMATION.test(name)) told.say("element-refused", { element: me(), why: "moves; paper does not" });
    else if (FOREIGN.test(name))
      told.say("element-refused", { element: me(), why: "cannot be printed from a drawing" });
    const href = attribs["href"]?.trim();
    if (href && !href.startsWith("#") && name !== "a") {
      if (/^data:/i.test(href) && (name === "image" || name === "feImage")) {
        const why = badPicture(href);
        if (why) told.say("data-image-refused", { element: me(), why });
      } else told.say("external-reference", { element: me(), reference: href.slice(0, 200) });
    }
    for (const [attribute, value] of Object.entries(attribs)) {
      if (/^on[a-z]/i.test(attribute)) told.say("script-refused", { element: me() });
      if (attribute === "style" || attribute === "href" || !value.includes("(")) continue;
      const outside = outsideIn(value);
      if (outside) told.say("external-reference", { element: me(), reference: outside });
    }
    for (const value of styles.winners(element).values()) {
      const outside = value.includes("(") ? outsideIn(value) : undefined;
      if (outside) told.say("external-reference", { element: me(), reference: outside });
    }
  }
};
