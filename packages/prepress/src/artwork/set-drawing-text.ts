// Text of a drawing that is still set in type becomes outlines, in the kit's fonts or the bundled one: what prints does not
// depend on the fonts of the machine. The second renderer sets it (tspans, text on a path, letter spacing, decoration), each
// text by itself in its own user units, and what comes back takes the text's place in the drawing.
import type { DrawingParts } from "@kitforme/kit";
import { bundledFonts } from "./bundled-fonts.ts";
import { tell } from "../words/drawing-words.ts";
import { facesOf } from "./faces-of-kit.ts";
import { byFamilyAlone } from "./font-names.ts";
import { judgeText, type LiveText, textsIn } from "./live-text.ts";
import type { Report } from "./report.ts";
import { type Fonts, normalForm } from "./second-renderer.ts";
import { declarationsOf, tagsOf } from "./svg-tags.ts";

/** A drawing with its text as outlines, and what the second renderer needs to draw it as it was. */
export interface SetDrawing {
  readonly svg: string;
  readonly fonts: Fonts;
}

/** What stays on the element that takes the text's place; the rest went into the outlines. */
const OUTER = new Set(["transform", "opacity", "clip-path", "mask", "filter", "mix-blend-mode", "isolation"]);

/** Outlines say what differs from the beginnings of SVG; what they leave out must not come from around them. */
const BEGINNINGS =
  "stroke-width:1;stroke-dasharray:none;stroke-dashoffset:0;stroke-linecap:butt;stroke-linejoin:miter;stroke-miterlimit:4;" +
  "stroke-opacity:1;fill-opacity:1;fill-rule:nonzero;paint-order:normal;visibility:visible";

/**
 * Sets all text of an SVG that the kit wrote. Told: fonts that are missing and what stood in, letters that no font has, and
 * text that cannot be set. Undefined when there is an error among them.
 */
export async function setDrawingText(
  svg: string,
  parts: DrawingParts,
  report: Report,
): Promise<SetDrawing | undefined> {
  const none: SetDrawing = { svg, fonts: { files: [], fallback: "" } };
  if (!/<text[\s>]/.test(svg)) return none;
  const texts = textsIn(svg).map((text, i) => ({ ...text, at: parts.texts?.[i]?.at }));
  if (texts.length === 0) return none;
  const faces = await facesOf(parts.fonts ?? [], report);
  if (!faces) return undefined;
  const bundled = bundledFonts();
  const files = [...faces, ...bundled].flatMap(({ sfnt, names }) => {
    const alone = byFamilyAlone(sfnt, names);
    return alone ? [sfnt, alone] : [sfnt];
  });
  const fonts: Fonts = { files, fallback: bundled[0]?.names.shown ?? "" };
  const before = report.findings.length;
  judgeText(texts, faces, bundled, report);
  if (report.findings.slice(before).some(({ level }) => level === "error")) return undefined;
  const outlines = await outlinesOf(svg, texts, fonts, report);
  if (!outlines) return undefined;
  const kept: string[] = [];
  let end = 0;
  for (const [i, text] of texts.entries()) {
    kept.push(svg.slice(end, text.from), outlines[i] as string);
    end = text.to;
  }
  kept.push(svg.slice(end));
  return { svg: kept.join(""), fonts };
}

const idOf = (i: number): string => `set-text-${i}`;

/** Every text by itself, under what comes down to it from around; the whole drawing stands in `defs` where it is referred to. */
const aloneDocument = (svg: string, texts: readonly LiveText[], numbers: readonly number[]): string => {
  const view = /<svg\b[^>]*\sviewBox="([^"]*)"/.exec(svg.slice(svg.indexOf("<svg", 1)))?.[1] ?? "0 0 100 100";
  const [, , width = "100", height = "100"] = view.trim().split(/[\s,]+/);
  const refers = texts.some(({ around, inner, tag }) => /url\(|href=/.test(around + tag + inner));
  const groups = numbers.map((i) => {
    const { around, depth, tag, inner } = texts[i] as LiveText;
    return `${around}${tag.replace(/^<text/, `<text id="${idOf(i)}"`)}${inner}</text>${"</g>".repeat(depth)}`;
  });
  const defs = refers ? `<defs>${svg}</defs>` : "";
  return `<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="${width}" height="${height}" viewBox="${view}">${defs}${groups.join("")}</svg>`;
};

const outlinesOf = async (
  svg: string,
  texts: readonly LiveText[],
  fonts: Fonts,
  report: Report,
): Promise<string[] | undefined> => {
  const painted = texts.map(({ around, inner, tag }) => /(?:fill|stroke)(?:="|:\s*)url\(/.test(around + tag + inner));
  const plain = texts.flatMap((_, i) => (painted[i] ? [] : [i]));
  const answers = new Map<number, string>();
  try {
    const whole = plain.length > 0 ? await normalForm(aloneDocument(svg, texts, plain), fonts) : "";
    const parts = partsById(whole);
    for (const i of plain) answers.set(i, parts.get(idOf(i)) ?? "");
    for (const [i, isPainted] of painted.entries()) {
      if (!isPainted) continue;
      const one = await normalForm(aloneDocument(svg, texts, [i]), fonts);
      const inner = withPaint(one, partsById(one).get(idOf(i)) ?? "", i);
      if (inner === undefined) {
        const text = texts[i] as LiveText & { at?: readonly [number, number] };
        tell(
          report,
          "text-not-set",
          { why: "it is painted with two gradients or patterns", text: text.shown },
          text.at,
        );
        return undefined;
      }
      answers.set(i, inner);
    }
  } catch {
    const [first] = texts as readonly (LiveText & { at?: readonly [number, number] })[];
    const why = "what it is made of cannot be read";
    tell(report, "text-not-set", { why, text: first?.shown ?? "" }, first?.at);
    return undefined;
  }
  return texts.map((text, i) => inPlace(text, answers.get(i) ?? ""));
};

/** What stands in each group with an id that this file gave. */
const partsById = (svg: string): Map<string, string> => {
  const parts = new Map<string, string>();
  const open: { readonly id: string | undefined; readonly from: number }[] = [];
  for (const { kind, attributes, raw, at } of tagsOf(svg)) {
    if (kind === "open") open.push({ id: attributes.get("id"), from: at + raw.length });
    if (kind !== "close") continue;
    const last = open.pop();
    if (last?.id?.startsWith("set-text-") && !parts.has(last.id)) parts.set(last.id, svg.slice(last.from, at));
  }
  return parts;
};

/** A gradient that was given in the bounds of the text comes back in user units, without a name. */
const withPaint = (svg: string, inner: string, i: number): string | undefined => {
  const nameless = [...svg.matchAll(/<(linearGradient|radialGradient|pattern)\s+id=""/g)];
  if (nameless.length === 0) return inner;
  if (nameless.length > 1) return undefined;
  const [found] = nameless as [RegExpExecArray];
  const close = `</${found[1]}>`;
  const definition = svg.slice(found.index, svg.indexOf(close, found.index) + close.length);
  const name = `${idOf(i)}-paint`;
  return `<defs>${definition.replace('id=""', `id="${name}"`)}</defs>${inner.replaceAll("url(#)", `url(#${name})`)}`;
};

/** The outlines in the text's place, under its own transform and effects. */
const inPlace = ({ attributes, parent, unpainted }: LiveText, outlines: string): string => {
  const outer = [...attributes].filter(([name]) => name === "id" || OUTER.has(name));
  const effects = declarationsOf(attributes.get("style")).filter(([property]) => OUTER.has(property));
  const drawn = unpainted ? outlines.replaceAll(' fill="#000000"', "") : outlines;
  if (parent === "clipPath") {
    // A clip takes shapes only, no groups.
    const transform = attributes.get("transform") ?? "";
    return [...drawn.matchAll(/<path\b[^>]*\sd="([^"]*)"[^>]*>/g)]
      .map(([, d]) => `<path transform="${transform}" d="${d}"/>`)
      .join("");
  }
  const written = outer.map(([name, value]) => ` ${name}="${value}"`).join("");
  const style = [...effects.map(([property, value]) => `${property}:${value}`), BEGINNINGS].join(";");
  return `<g${written} style="${style}">${drawn}</g>`;
};
