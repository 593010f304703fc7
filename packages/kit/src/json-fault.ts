/** Where a text stops being JSON: line and column from 1, and what is wrong there. */
export interface JsonFault {
  readonly line: number;
  readonly column: number;
  readonly what: string;
}

type Expected = "value" | "first value" | "name" | "first name" | "colon" | "comma" | "end";

const WORDS: Readonly<Record<Expected, string>> = {
  value: "a value is expected",
  "first value": "a value or ] is expected",
  name: "a name in double quotes is expected",
  "first name": "a name in double quotes or } is expected",
  colon: "a colon is expected",
  comma: "a comma or the end of the object or list is expected",
  end: "nothing more is expected",
};

const TOKEN = /[{}[\],:]|-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?(?![\w.+-])|(?:true|false|null)(?!\w)/y;
/** A string up to its end, or up to where it stops being one. */
const STRING = /"(?:[\u0020\u0021\u0023-\u005b\u005d-\u{10ffff}]|\\(?:["\\/bfnrt]|u[0-9a-fA-F]{4}))*/uy;

/**
 * The first place where a text is not JSON (RFC 8259), in plain words: engines name it differently, or not at all. Undefined
 * when none is found.
 */
export const jsonFault = (text: string): JsonFault | undefined => {
  const open: ("{" | "[")[] = [];
  let expected: Expected = "value";
  const after = (): Expected => (open.length === 0 ? "end" : "comma");
  for (let i = 0; ; ) {
    while (i < text.length && " \t\r\n".includes(text[i] as string)) i++;
    const fault = (what: string): JsonFault => ({ ...placeOf(text, i), what });
    if (i >= text.length) {
      if (expected === "end") return undefined;
      const last = open.at(-1);
      return fault(
        last ? `the text ends, but ${last === "{" ? "}" : "]"} is missing` : "the text ends before its value",
      );
    }
    const wantsName: boolean = expected === "name" || expected === "first name";
    const wantsValue: boolean = expected === "value" || expected === "first value";
    if (text[i] === '"' && (wantsName || wantsValue)) {
      const end = endOf(text, i);
      if (typeof end === "object") return { ...placeOf(text, end.at), what: end.what };
      i = end;
      expected = wantsName ? "colon" : after();
      continue;
    }
    TOKEN.lastIndex = i;
    const token = TOKEN.exec(text)?.[0];
    const closes =
      (token === "}" && open.at(-1) === "{" && (expected === "first name" || expected === "comma")) ||
      (token === "]" && open.at(-1) === "[" && (expected === "first value" || expected === "comma"));
    if (closes) {
      open.pop();
      expected = after();
    } else if (token === ":" && expected === "colon") expected = "value";
    else if (token === "," && expected === "comma") expected = open.at(-1) === "{" ? "name" : "value";
    else if ((token === "{" || token === "[") && wantsValue) {
      open.push(token);
      expected = token === "{" ? "first name" : "first value";
    } else if (token !== undefined && !/[{}[\],:]/.test(token) && wantsValue) expected = after();
    else return fault(whatIsWrong(text, i, expected));
    i += token?.length ?? 1;
  }
};

/** The place behind a string, or where and why it is none. */
const endOf = (text: string, start: number): number | { readonly at: number; readonly what: string } => {
  STRING.lastIndex = start;
  const at = start + (STRING.exec(text)?.[0].length ?? 1);
  if (text[at] === '"') return at + 1;
  if (text[at] === "\\") return { at, what: "the backslash is followed by no sign that it may stand before" };
  if (text[at] === "\n" || text[at] === "\r" || at >= text.length)
    return { at: start, what: "the text that begins here has no closing quote on its line" };
  return { at, what: "a control character stands in a text" };
};

const whatIsWrong = (text: string, i: number, expected: Expected): string => {
  const sign = text[i] as string;
  const before = text.slice(0, i).trimEnd().at(-1);
  if (before === "," && (sign === "}" || sign === "]")) return `there is a comma too many before ${sign}`;
  if (sign === "/") return "comments are no JSON";
  if (sign === "'" || sign === "\u201c" || sign === "\u201d")
    return `${sign} is no quote here: texts stand in straight double quotes`;
  if (expected === "comma" && sign === '"') return "a comma is missing before this";
  return WORDS[expected];
};

const placeOf = (text: string, at: number): { readonly line: number; readonly column: number } => {
  let line = 1;
  let start = 0;
  for (let end = text.indexOf("\n"); end >= 0 && end < at; end = text.indexOf("\n", end + 1)) {
    line++;
    start = end + 1;
  }
  return { line, column: Array.from(text.slice(start, Math.min(at, start + 1_000_000))).length + 1 };
};
