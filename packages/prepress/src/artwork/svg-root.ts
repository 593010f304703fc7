// The root element of an SVG, read and rewritten as text: the drawing behind it stays the designer's own bytes.

/** An SVG cut at its root tag. */
export interface SvgRoot {
  readonly before: string;
  /** Name of the tag, a prefix included. */
  readonly tag: string;
  readonly attributes: ReadonlyMap<string, string>;
  readonly closing: string;
  readonly after: string;
}

const ATTRIBUTE = /\s+([^\s=/>"']+)\s*=\s*(?:"([^"]*)"|'([^']*)')/y;
const MISC = /(?:\s+|<\?[^]*?\?>|<!--[^]*?-->|<!DOCTYPE[^[>]*(?:\[[^\]]*\]\s*)?>)*/y;
const TAG = /<((?:[\w.-]+:)?svg)(?=[\s/>])/y;

/** Finds the root; undefined when the text does not begin as an SVG. */
export const readRoot = (svg: string): SvgRoot | undefined => {
  const start = svg.startsWith("\uFEFF") ? 1 : 0;
  MISC.lastIndex = start;
  MISC.exec(svg);
  TAG.lastIndex = MISC.lastIndex;
  const begin = TAG.lastIndex;
  const tag = TAG.exec(svg)?.[1];
  if (tag === undefined) return undefined;
  const attributes = new Map<string, string>();
  let at = TAG.lastIndex;
  for (;;) {
    ATTRIBUTE.lastIndex = at;
    const found = ATTRIBUTE.exec(svg);
    if (!found) break;
    attributes.set(found[1] as string, found[2] ?? (found[3] as string).replaceAll('"', "&quot;"));
    at = ATTRIBUTE.lastIndex;
  }
  const closing = /\s*\/?>/y;
  closing.lastIndex = at;
  const end = closing.exec(svg)?.[0];
  if (end === undefined) return undefined;
  // The declaration goes: what is written again is UTF-8, whatever it was.
  const before = svg.slice(start, begin).replace(/^<\?xml\s[^>]*\?>/, "");
  return { before, tag, attributes, closing: end, after: svg.slice(closing.lastIndex) };
};

/** The SVG with some attributes of its root replaced; `undefined` takes one out. */
export const withRoot = (root: SvgRoot, changes: Readonly<Record<string, string | undefined>>): string => {
  const attributes = new Map(root.attributes);
  for (const [name, value] of Object.entries(changes)) {
    if (value === undefined) attributes.delete(name);
    else attributes.set(name, value);
  }
  const written = [...attributes].map(([name, value]) => ` ${name}="${value}"`).join("");
  return `${root.before}<${root.tag}${written}${root.closing}${root.after}`;
};

/** Pixels of 1/96 inch in a length (CSS Values 3, section 6.2); undefined for %, em and whatever has no size of its own. */
const PIXELS: Readonly<Record<string, number>> = {
  "": 1,
  px: 1,
  in: 96,
  cm: 96 / 2.54,
  mm: 96 / 25.4,
  q: 96 / 101.6,
  pt: 96 / 72,
  pc: 16,
};
const length = (text: string | undefined): number | undefined => {
  const found = /^\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?)\s*([a-z]*)\s*$/i.exec(text ?? "");
  const unit = PIXELS[found?.[2]?.toLowerCase() ?? "none"];
  const value = unit === undefined ? Number.NaN : Number(found?.[1]) * unit;
  return value > 0 && Number.isFinite(value) ? value : undefined;
};

/** What the root shows, in user units: its viewBox, else its size from 0 0. */
export const viewOf = ({
  attributes,
}: SvgRoot): readonly [x: number, y: number, width: number, height: number] | undefined => {
  const box =
    attributes
      .get("viewBox")
      ?.trim()
      .split(/[\s,]+/)
      .map(Number) ?? [];
  const [x, y, w, h] = box;
  if (x !== undefined && y !== undefined && w !== undefined && h !== undefined && box.length === 4) {
    return box.every(Number.isFinite) && w > 0 && h > 0 ? [x, y, w, h] : undefined;
  }
  const [width, height] = [length(attributes.get("width")), length(attributes.get("height"))];
  return width === undefined || height === undefined ? undefined : [0, 0, width, height];
};
