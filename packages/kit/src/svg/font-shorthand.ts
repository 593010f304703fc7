// The `font` shorthand of CSS Fonts 4, 2.7, as its single properties: renderers and the reader of live text know those.

const LENGTH = String.raw`(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?(?:%|[a-z]+)`;
const SIZES = "xx-small|x-small|small|medium|large|x-large|xx-large|xxx-large|smaller|larger";
const SHORTHAND = new RegExp(
  String.raw`^((?:[\w-]+(?:\s+-?[\d.]+deg)?\s+)*?)(${LENGTH}|${SIZES})(?:\s*/\s*(?:normal|${LENGTH}|[\d.]+))?\s+(\S[^]*)$`,
  "i",
);
const STRETCHES =
  /^(?:ultra-condensed|extra-condensed|condensed|semi-condensed|semi-expanded|expanded|extra-expanded|ultra-expanded)$/;

/** The properties that the shorthand sets, or undefined where it is none of those that are read here (fonts of a system). */
export const fontProperties = (shorthand: string): readonly (readonly [string, string])[] | undefined => {
  const found = SHORTHAND.exec(shorthand.trim());
  if (!found) return undefined;
  const [, before = "", size = "", families = ""] = found;
  const set = new Map([
    ["font-style", "normal"],
    ["font-variant", "normal"],
    ["font-weight", "normal"],
    ["font-stretch", "normal"],
  ]);
  for (const word of before.toLowerCase().split(/\s+/).filter(Boolean)) {
    if (word === "normal" || word.endsWith("deg")) continue;
    if (/^(?:italic|oblique)$/.test(word)) set.set("font-style", word);
    else if (word === "small-caps") set.set("font-variant", word);
    else if (/^(?:bold|bolder|lighter|\d{1,4})$/.test(word)) set.set("font-weight", word);
    else if (STRETCHES.test(word)) set.set("font-stretch", word);
    else return undefined;
  }
  return [...set, ["font-size", size], ["font-family", families.trim()]];
};
