/** An element of an XML document; attributes without a value are left out. */
export interface Element {
  readonly name: string;
  readonly attributes: Readonly<Record<string, string | number | undefined>>;
  readonly children: readonly Child[];
  /** Its text, for an element without children. */
  readonly text?: string;
}

/** An element, or how it is made when its turn comes: a ticket of 600 sheets weighs thirty times its file as elements. */
export type Child = Element | (() => Element);

export const element = (
  name: string,
  attributes: Element["attributes"] = {},
  children: readonly Child[] = [],
): Element => ({ name, attributes, children });

/** What XML 1.0 cannot hold at all, not even as a reference: control characters, lone surrogates, U+FFFE and U+FFFF. */
const NO_XML = /[^\t\n\r\u{20}-\u{D7FF}\u{E000}-\u{FFFD}\u{10000}-\u{10FFFF}]/gu;

const ENTITIES: Readonly<Record<string, string>> = {
  "&": "&amp;",
  "<": "&lt;",
  ">": "&gt;",
  '"': "&quot;",
  // Kept from being read as blanks in an attribute.
  "\t": "&#9;",
  "\n": "&#10;",
  "\r": "&#13;",
};

const escaped = (text: string): string =>
  text.replaceAll(NO_XML, "\u{FFFD}").replaceAll(/[&<>"\t\n\r]/g, (letter) => ENTITIES[letter] as string);

/** The document as UTF-8, an element a line, indented by one blank. Characters that XML has no place for become U+FFFD. */
export const xmlOf = (root: Element): Uint8Array => {
  const written = new Lines();
  written.push('<?xml version="1.0" encoding="UTF-8"?>');
  write(root, "", written);
  return written.bytes();
};

/** Lines to come in one piece, encoded a few thousand at a time. */
class Lines {
  private lines: string[] = [];
  private readonly encoded: Buffer[] = [];

  push(line: string): void {
    if (this.lines.push(line) >= 4096) this.encode();
  }

  bytes(): Uint8Array {
    this.encode();
    return new Uint8Array(Buffer.concat(this.encoded));
  }

  private encode(): void {
    if (this.lines.length > 0) this.encoded.push(Buffer.from(`${this.lines.join("\n")}\n`));
    this.lines = [];
  }
}

const write = ({ name, attributes, children, text }: Element, indent: string, lines: Lines): void => {
  const said = Object.entries(attributes)
    .filter(([, value]) => value !== undefined)
    .map(([key, value]) => ` ${key}="${escaped(String(value))}"`)
    .join("");
  if (text !== undefined) lines.push(`${indent}<${name}${said}>${escaped(text)}</${name}>`);
  else if (children.length === 0) lines.push(`${indent}<${name}${said}/>`);
  else {
    lines.push(`${indent}<${name}${said}>`);
    for (const child of children) write(typeof child === "function" ? child() : child, `${indent} `, lines);
    lines.push(`${indent}</${name}>`);
  }
};
