/** What an SVG asks of the machine that draws it, and what decides how its colours are made. */
export interface SvgFacts {
  /** Files and addresses it names: none of them would be drawn. */
  readonly external: readonly string[];
  /** Own entities: refused, they can grow without end. */
  readonly entities: boolean;
  /** Pictures, gradients, filters: colours that run, so that black is not always line art. */
  readonly shaded: boolean;
}

const HREF = /[\s:]href\s*=\s*(?:"([^"]*)"|'([^']*)')/g;
const URL_IN_STYLE = /url\(\s*(?:&quot;|["'])?([^)"'&]*)/g;
const IMPORT = /@import\s+(?:url\(\s*)?(?:&quot;|["'])?([^)"';&]+)/g;

/** Addresses looked into: whose element they are on takes a look back. */
const ENOUGH = 1000;

const within = (address: string): boolean => address === "" || address.startsWith("#") || /^data:/i.test(address);

/** A link does not paint: its address is nobody's business. */
const onLink = (svg: string, at: number): boolean =>
  /^<(?:[\w.-]+:)?a\s/.test(svg.slice(svg.lastIndexOf("<", at), at + 1));

/**
 * Reads an SVG as text, in time that grows with its length only: no pattern here may look far ahead for an end that never
 * comes (half a million openings of a comment took a lazy pattern minutes).
 */
export const scanSvg = (text: string): SvgFacts => {
  const svg = cutOut(text, "<!--", "-->");
  const instructions = between(svg, "<?xml-stylesheet", "?>");
  const external = new Set<string>();
  const add = (address: string): void => {
    if (!within(address)) external.add(address.slice(0, 200));
  };
  let met = 0;
  for (const found of svg.matchAll(HREF)) {
    if (met > ENOUGH) break;
    const address = (found[1] ?? found[2] ?? "").trim();
    if (within(address)) continue;
    met++;
    if (!onLink(svg, found.index)) add(address);
  }
  for (const pattern of [URL_IN_STYLE, IMPORT]) for (const found of svg.matchAll(pattern)) add((found[1] ?? "").trim());
  if (instructions !== undefined) add(/href\s*=\s*["']([^"']*)/.exec(instructions)?.[1] ?? "a style sheet");
  return {
    external: [...external],
    entities: /<!ENTITY/i.test(svg),
    shaded: /<(?:[\w.-]+:)?(?:image|feImage|filter|linearGradient|radialGradient|pattern|mask)[\s>]/.test(svg),
  };
};

/** The text without what stands from one mark to another; from a mark that is never ended, nothing is left. */
const cutOut = (text: string, from: string, to: string): string => {
  const kept: string[] = [];
  let at = 0;
  for (;;) {
    const start = text.indexOf(from, at);
    if (start < 0) break;
    kept.push(text.slice(at, start));
    const end = text.indexOf(to, start + from.length);
    at = end < 0 ? text.length : end + to.length;
  }
  return kept.join("") + text.slice(at);
};

/** What stands between the first two marks. */
const between = (text: string, from: string, to: string): string | undefined => {
  const start = text.indexOf(from);
  if (start < 0) return undefined;
  const end = text.indexOf(to, start);
  return text.slice(start, end < 0 ? start + 1000 : end);
};
