/** What an SVG asks of the machine that draws it, and what decides how its colours are made. */
export interface SvgFacts {
  /** Files and addresses it names: none of them would be drawn. */
  readonly external: readonly string[];
  /** Letters set from fonts. */
  readonly text: boolean;
  /** Own entities: refused, they can grow without end. */
  readonly entities: boolean;
  /** Pictures, gradients, filters: colours that run, so that black is not always line art. */
  readonly shaded: boolean;
}

const HREF = /[\s:]href\s*=\s*(?:"([^"]*)"|'([^']*)')/g;
const URL_IN_STYLE = /url\(\s*(?:&quot;|["'])?([^)"'&]*)/g;
const IMPORT = /@import\s+(?:url\(\s*)?(?:&quot;|["'])?([^)"';&]+)/g;
const STYLE_SHEET = /<\?xml-stylesheet\b[^>]*?href\s*=\s*["']([^"']*)/g;

const within = (address: string): boolean => address === "" || address.startsWith("#") || /^data:/i.test(address);

/** A link does not paint: its address is nobody's business. */
const onLink = (svg: string, at: number): boolean =>
  /^<(?:[\w.-]+:)?a\s/.test(svg.slice(svg.lastIndexOf("<", at), at + 1));

export const scanSvg = (text: string): SvgFacts => {
  const svg = text.replace(/<!--[^]*?-->/g, "");
  const external = new Set<string>();
  const add = (address: string): void => {
    if (!within(address.trim())) external.add(address.trim().slice(0, 200));
  };
  for (const found of svg.matchAll(HREF)) {
    const address = (found[1] ?? found[2] ?? "").trim();
    if (!within(address) && !onLink(svg, found.index)) add(address);
  }
  for (const pattern of [URL_IN_STYLE, IMPORT, STYLE_SHEET])
    for (const found of svg.matchAll(pattern)) add(found[1] ?? "");
  return {
    external: [...external],
    text: /<(?:[\w.-]+:)?text[\s>]/.test(svg),
    entities: /<!ENTITY/i.test(svg),
    shaded: /<(?:[\w.-]+:)?(?:image|feImage|filter|linearGradient|radialGradient|pattern|mask)[\s>]/.test(svg),
  };
};
