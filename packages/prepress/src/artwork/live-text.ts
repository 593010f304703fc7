// The texts of a drawing with what comes down to them, and the judgement of their fonts: which is missing and what stands in.
import { tell } from "../words/drawing-words.ts";
import type { FaceOfKit } from "./faces-of-kit.ts";
import type { Report } from "./report.ts";
import { declarationsOf, propertyOf, tagsOf, type Token, unescapeXml } from "./svg-tags.ts";

/** Letters in one font, as the drawing asks for it. */
interface Span {
  readonly letters: string;
  /** Families in the order they are asked for, as written; empty: none is named. */
  readonly families: readonly string[];
  readonly bold: boolean;
  readonly slanted: boolean;
}

export interface LiveText {
  /** Its characters in the SVG. */
  readonly from: number;
  readonly to: number;
  readonly parent: string;
  readonly attributes: ReadonlyMap<string, string>;
  /** Opening tags of groups that hold what comes down to it, and how many they are. */
  readonly around: string;
  readonly depth: number;
  /** Its own opening tag without place, transform and effects of the whole. */
  readonly tag: string;
  readonly inner: string;
  /** No fill is asked for anywhere: it may come from a `use`. */
  readonly unpainted: boolean;
  readonly spans: readonly Span[];
  /** How it begins, for people. */
  readonly shown: string;
}

/** What makes a group of its own, or moves: not for the text alone. */
const NOT_ALONE = new Set(
  (
    "id transform opacity clip-path mask filter mix-blend-mode isolation display " +
    "x y width height viewBox preserveAspectRatio overflow href xlink:href"
  ).split(" "),
);

/** A tag with the attributes and declarations that are about the text itself. */
const reduced = (name: string, attributes: ReadonlyMap<string, string>, own: boolean): string => {
  const drop = (key: string): boolean => NOT_ALONE.has(key) && !(own && /^[xy]$/.test(key));
  const kept = [...attributes].filter(([key]) => key !== "style" && !drop(key));
  const style = declarationsOf(attributes.get("style"))
    .filter(([property]) => !NOT_ALONE.has(property))
    .map(([property, value]) => `${property}:${value}`)
    .join(";");
  return `<${name}${kept.map(([key, value]) => ` ${key}="${value}"`).join("")}${style ? ` style="${style}"` : ""}>`;
};

const familiesOf = (value: string | undefined): readonly string[] | undefined =>
  value === undefined
    ? undefined
    : unescapeXml(value)
        .split(",")
        .map((one) => one.trim().replace(/^["']|["']$/g, ""))
        .filter((one) => one !== "");

interface Style {
  readonly families: readonly string[];
  readonly bold: boolean;
  readonly slanted: boolean;
  readonly hidden: boolean;
  readonly painted: boolean;
}

const styleOf = ({ attributes }: Token, around: Style): Style => {
  const outer = beginsAnew(attributes) ? { ...BEGINNING, hidden: around.hidden } : around;
  const weight = propertyOf(attributes, "font-weight")?.trim();
  const slant = propertyOf(attributes, "font-style")?.trim();
  const visibility = propertyOf(attributes, "visibility")?.trim();
  return {
    families: familiesOf(beginsAnew(attributes) ? undefined : propertyOf(attributes, "font-family")) ?? outer.families,
    bold: weight === undefined || weight === "inherit" ? outer.bold : /^(bold|bolder|[6-9]00)$/.test(weight),
    slanted: slant === undefined || slant === "inherit" ? outer.slanted : /^(italic|oblique)/.test(slant),
    hidden:
      propertyOf(attributes, "display")?.trim() === "none" ||
      (visibility === undefined ? outer.hidden : /^(hidden|collapse)$/.test(visibility)),
    painted: outer.painted || propertyOf(attributes, "fill") !== undefined,
  };
};

/** Whether an element sets back what is inherited, as the kit writes it around a drawing in the drawing. */
const beginsAnew = (attributes: ReadonlyMap<string, string>): boolean =>
  declarationsOf(attributes.get("style")).some(([name, value]) => name === "font-family" && value === "initial");

const BEGINNING: Style = { families: [], bold: false, slanted: false, hidden: false, painted: false };

/** Every text of an SVG that the kit wrote, in the order of the document. */
export const textsIn = (svg: string): LiveText[] => {
  const texts: LiveText[] = [];
  const open: { readonly token: Token; readonly style: Style }[] = [];
  let spans: Span[] = [];
  let painted = false;
  for (const token of tagsOf(svg)) {
    const style = open.at(-1)?.style ?? BEGINNING;
    const inText = open.some((one) => one.token.name === "text");
    if (token.kind === "open") {
      const own = styleOf(token, style);
      if (token.name === "text" && !inText) {
        spans = [];
        painted = own.painted;
      } else if (inText) painted ||= own.painted;
      open.push({ token, style: own });
    } else if (token.kind === "text" && inText) {
      const letters = unescapeXml(token.raw).replace(/\s+/g, " ");
      if (letters.trim() !== "" && !style.hidden) spans.push({ ...style, letters });
    } else if (token.kind === "close") {
      const last = open.pop();
      if (last?.token.name !== "text" || open.some((one) => one.token.name === "text")) continue;
      // A drawing in the drawing begins anew: nothing comes down to its text from around it.
      const anew = open.findLastIndex((one) => beginsAnew(one.token.attributes));
      const around = open.slice(anew + 1).map((one) => reduced("g", one.token.attributes, false));
      const from = last.token.at;
      texts.push({
        from,
        to: token.at + token.raw.length,
        parent: open.at(-1)?.token.name ?? "",
        attributes: last.token.attributes,
        around: around.join(""),
        depth: around.length,
        tag: reduced("text", last.token.attributes, true),
        inner: svg.slice(from + last.token.raw.length, token.at),
        unpainted: !painted,
        spans,
        shown: spans
          .map(({ letters }) => letters)
          .join("")
          .trim()
          .slice(0, 40),
      });
    }
  }
  return texts;
};

const IGNORED = /[\s\p{Default_Ignorable_Code_Point}\p{Cc}]/u;

const named = (letter: string): string =>
  `${letter} (U+${(letter.codePointAt(0) ?? 0).toString(16).toUpperCase().padStart(4, "0")})`;

/** Reports what each text's fonts are missing. Letters are reported once a text, fonts once a family. */
export const judgeText = (
  texts: readonly (LiveText & { readonly at?: readonly [number, number] | undefined })[],
  faces: readonly FaceOfKit[],
  bundled: readonly FaceOfKit[],
  report: Report,
): void => {
  const told = new Set<string>();
  const once = (key: string): boolean => !told.has(key) && told.add(key) !== undefined;
  const fallback = bundled[0] as FaceOfKit;
  const all = [...faces, ...bundled];
  const used = new Set<string>();
  let set = 0;
  for (const { spans, shown: text, at } of texts) {
    const missing = new Set<string>();
    let own = spans.length > 0;
    for (const { families, letters, bold, slanted } of spans) {
      const family = families.find((one) => all.some(({ names }) => names.families.includes(one.toLowerCase())));
      const ofFamily = all.filter(({ names }) => family !== undefined && names.families.includes(family.toLowerCase()));
      const chosen = ofFamily.length > 0 ? ofFamily : bundled;
      const [first] = families;
      if (family === undefined || family !== first) {
        own = false;
        const instead = chosen[0]?.names.shown ?? "";
        if (once(`family ${first ?? ""}`))
          tell(report, "font-missing", { family: first ?? "", instead, text, named: first !== undefined }, at);
      } else {
        if (chosen.some((one) => faces.includes(one))) used.add(chosen[0]?.names.shown ?? family);
        else own = false;
        const style = [...(bold ? ["bold"] : []), ...(slanted ? ["italic"] : [])].join(" ");
        // A heavier face than asked for is often the family itself: "Lora SemiBold".
        const fits = chosen.some(({ names }) => (!bold || names.weight >= 600) && names.slanted === slanted);
        if (!fits && once(`style ${family} ${style}`))
          tell(report, "font-style-missing", { family, style: style || "regular", text }, at);
      }
      const others = new Set<string>();
      for (const letter of letters) {
        if (IGNORED.test(letter)) continue;
        const code = letter.codePointAt(0) ?? 0;
        if (chosen.some(({ face }) => face.covers(code))) continue;
        if (all.some(({ face }) => face.covers(code))) others.add(named(letter));
        else missing.add(named(letter));
      }
      if (others.size > 0)
        tell(
          report,
          "letter-from-other-font",
          { letters: [...others], family: chosen[0]?.names.shown ?? fallback.file, text },
          at,
        );
    }
    if (missing.size > 0)
      tell(report, "letter-missing", { letters: [...missing], tried: all.map(({ file }) => file), text }, at);
    if (own) set++;
  }
  if (set > 0 && used.size > 0) tell(report, "text-set", { families: [...used], texts: set });
};
