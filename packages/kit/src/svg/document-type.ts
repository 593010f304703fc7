// A document type may declare plain entities: names for texts. Drawing programs write the addresses of namespaces so. They are
// expanded here, each once, within limits; whatever names a file, holds markup or grows is refused before anything is expanded.

/** Entities that a drawing may declare. */
const MOST_ENTITIES = 1000;
/** Characters of one entity, all others in it expanded. */
const LONGEST_ENTITY = 10_000;
/** Characters that all uses of entities may add to a drawing. */
export const MOST_EXPANDED = 1_000_000;

/** Names and their whole texts, or why the document type is not read. */
export type DocumentType = { readonly entities: ReadonlyMap<string, string> } | { readonly why: string };

const ENTITY = /^<!ENTITY\s+([^\s%"'>]+)\s+(?:"([^"]*)"|'([^']*)')\s*>/;
const PASSED_OVER = /^(?:<!(?:ELEMENT|ATTLIST|NOTATION)\b(?:[^"'>]|"[^"]*"|'[^']*')*>|<\?[^?]*\?>)/;

/**
 * Reads what stands between `<!DOCTYPE` and its `>`. The outer part (a public name and the address of the SVG DTD) is
 * passed over: nothing is ever fetched.
 */
export const readDocumentType = (text: string): DocumentType => {
  const start = text.indexOf("[");
  if (start < 0) return { entities: new Map() };
  let subset = text.slice(start + 1, text.lastIndexOf("]"));
  const declared = new Map<string, string>();
  for (;;) {
    subset = subset.trimStart();
    if (subset === "") break;
    if (subset.startsWith("<!--")) {
      const end = subset.indexOf("-->");
      if (end < 0) return { why: "a comment in it is not ended" };
      subset = subset.slice(end + 3);
      continue;
    }
    const entity = ENTITY.exec(subset);
    const rest = entity ?? PASSED_OVER.exec(subset);
    if (!rest) return { why: `it declares what is not read here: ${subset.slice(0, 60)}` };
    subset = subset.slice(rest[0].length);
    const [, name, double, single] = entity ?? [];
    if (name === undefined) continue;
    // The first declaration of a name holds (XML 1.0, 4.2).
    if (!declared.has(name)) declared.set(name, double ?? single ?? "");
    if (declared.size > MOST_ENTITIES) return { why: `it declares more than ${MOST_ENTITIES} entities` };
  }
  return expandAll(declared);
};

/** Every entity with the others in it expanded, deepest first; the length is known before the text is made. */
const expandAll = (declared: ReadonlyMap<string, string>): DocumentType => {
  const whole = new Map<string, string>();
  const open = new Set<string>();
  let why: string | undefined;
  const expand = (name: string): string => {
    const known = whole.get(name);
    if (known !== undefined) return known;
    if (open.has(name)) {
      why ??= `its entity ${name} contains itself`;
      return "";
    }
    open.add(name);
    const parts = (declared.get(name) ?? "").split(/&([^#;\s][^;\s]*);/);
    let text = "";
    for (const [i, part] of parts.entries()) {
      const inner = i % 2 === 1;
      text += !inner ? part : declared.has(part) ? expand(part) : `&${part};`;
      if (text.length <= LONGEST_ENTITY) continue;
      why ??= `its entity ${name} grows beyond ${LONGEST_ENTITY} characters`;
      break;
    }
    open.delete(name);
    if (/[<]/.test(text)) why ??= `its entity ${name} holds elements, not plain text`;
    whole.set(name, text);
    return text;
  };
  const entities = new Map<string, string>();
  for (const name of declared.keys()) {
    if (why !== undefined) break;
    entities.set(name, plain(expand(name)));
  }
  return why === undefined ? { entities } : { why };
};

const NAMED: Readonly<Record<string, string>> = { lt: "<", gt: ">", amp: "&", quot: '"', apos: "'" };

/** Character references and the five names of XML as their characters. */
const plain = (text: string): string =>
  text.replace(/&(?:#(\d{1,7})|#x([0-9a-f]{1,6})|(lt|gt|amp|quot|apos));/gi, (all, decimal, hex, name) => {
    if (name !== undefined) return NAMED[String(name).toLowerCase()] ?? all;
    const code = decimal === undefined ? Number.parseInt(String(hex), 16) : Number(decimal);
    return code > 0 && code <= 0x10ffff ? String.fromCodePoint(code) : all;
  });
