// The tags of an SVG that the kit wrote: attributes in double quotes, no comments, no CDATA, `<` nowhere but in tags.

/** A tag, or the text between two tags. */
export interface Token {
  readonly kind: "open" | "close" | "empty" | "text";
  readonly name: string;
  readonly attributes: ReadonlyMap<string, string>;
  /** Its characters, and where they begin. */
  readonly raw: string;
  readonly at: number;
}

const TAG = /<(\/?)([\w:.-]+)((?:\s+[\w:.-]+="[^"]*")*)\s*(\/?)>/g;
const ATTRIBUTE = /\s+([\w:.-]+)="([^"]*)"/g;
const NONE: ReadonlyMap<string, string> = new Map();

/** Every tag and text in the order of the document. Values of attributes stay escaped. */
export function* tagsOf(svg: string): Generator<Token> {
  let end = 0;
  for (const found of svg.matchAll(TAG)) {
    const [raw, slash, name = "", written = "", self] = found;
    if (found.index > end)
      yield { kind: "text", name: "", attributes: NONE, raw: svg.slice(end, found.index), at: end };
    const attributes = new Map<string, string>();
    for (const [, key = "", value = ""] of written.matchAll(ATTRIBUTE)) attributes.set(key, value);
    yield { kind: slash ? "close" : self ? "empty" : "open", name, attributes, raw, at: found.index };
    end = found.index + raw.length;
  }
  if (end < svg.length) yield { kind: "text", name: "", attributes: NONE, raw: svg.slice(end), at: end };
}

/** The declarations of a style attribute, still escaped. */
export const declarationsOf = (style: string | undefined): [property: string, value: string][] =>
  // A semicolon within quotes or an escape ends nothing.
  ((style ?? "").match(/(?:&quot;.*?&quot;|'[^']*'|&[#\w]+;|[^;])+/g) ?? []).flatMap((one): [string, string][] => {
    const colon = one.indexOf(":");
    return colon < 0 ? [] : [[one.slice(0, colon).trim().toLowerCase(), one.slice(colon + 1).trim()]];
  });

/** The value of a property on one tag: its style, else its attribute. */
export const propertyOf = (attributes: ReadonlyMap<string, string>, property: string): string | undefined =>
  declarationsOf(attributes.get("style")).findLast(([name]) => name === property)?.[1] ?? attributes.get(property);

/** Characters as they are meant. */
export const unescapeXml = (text: string): string =>
  text
    .replace(/&#(\d+);/g, (_, code: string) => String.fromCodePoint(Number(code)))
    .replaceAll("&lt;", "<")
    .replaceAll("&gt;", ">")
    .replaceAll("&quot;", '"')
    .replaceAll("&amp;", "&");
