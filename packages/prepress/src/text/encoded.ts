import { composed } from "@kitforme/kit/findings";

/** Names of characters that shops' pages write for letters (HTML, "Named character references"): the usual ones only. */
const NAMED =
  "amp|lt|gt|quot|apos|nbsp|[a-z]{1,2}lig|szlig|[a-z](?:grave|acute|circ|tilde|uml|ring|cedil|slash|caron)|[lr][sd]quo|hellip|[nm]dash";

/** Signs of a text that a program wrote for another program to read, never a buyer. */
const SIGNS: readonly RegExp[] = [
  new RegExp(`&(?:${NAMED}|#\\d{2,7}|#x[\\da-f]{2,6});`, "iu"),
  /\\u[\da-f]{4}|\\[nrt](?![\p{L}\d])/iu,
  /%20|(?:%[c-f][\da-f]%[89ab][\da-f])/iu,
  /=[C-F][\dA-F]=[89AB][\dA-F]/u,
  /<\/?(?:b|br|i|p|em|span|strong)\b[^>]*>/iu,
  /\{\{.*\}\}|\$\{.*\}|^\[object \w+\]$/u,
];
const EXACTLY = ["undefined", "null", "NaN"];

/** What Windows-1252 has at 0x80 to 0x9f (Unicode's mapping table CP1252.TXT); the five bytes without a letter stand for themselves. */
const WINDOWS = "€\u0081‚ƒ„…†‡ˆ‰Š‹Œ\u008dŽ\u008f\u0090‘’“”•–—˜™š›œ\u009džŸ";

/** Letters that names are spelt with, of those that two bytes of UTF-8 make. */
const SPELT = /[\u00c0-\u024f\u0370-\u058f\u05d0-\u06ff]/u;

/** A byte that opens a letter of several in UTF-8, and one that goes on with it, as Windows-1252 shows them. */
const LEADS = new RegExp(`[\\u00c2-\\u00f4][${WINDOWS}\\u00a0-\\u00bf]`, "u");

/** The text as it was before its UTF-8 was read as Windows-1252 (`AndrÃ©`); none where it cannot have been. */
const reread = (text: string): string | undefined => {
  if (!LEADS.test(text)) return undefined;
  const bytes: number[] = [];
  for (const c of text) {
    const at = WINDOWS.indexOf(c);
    const byte = at < 0 ? (c.codePointAt(0) as number) : 0x80 + at;
    if (byte > 0xff) return undefined;
    bytes.push(byte);
  }
  if (bytes.every((byte) => byte < 0x80)) return undefined;
  try {
    const meant = new TextDecoder("utf-8", { fatal: true }).decode(Uint8Array.from(bytes));
    return SPELT.test(meant) || /[\u0800-\u{10ffff}]/u.test(meant) ? composed(meant) : undefined;
  } catch {
    return undefined;
  }
};

/** What of a text looks like the writing of a program (`&amp;`, `{{name}}`), and what it was before, where that can be known. */
export interface Encoded {
  readonly found: string;
  readonly meant?: string;
}

/** Finds a text that was encoded on its way here and would be printed so. */
export const encodedIn = (text: string): Encoded | undefined => {
  if (EXACTLY.includes(text.trim())) return { found: text.trim() };
  for (const sign of SIGNS) {
    const found = sign.exec(text)?.[0];
    if (found) return { found };
  }
  const meant = reread(text);
  return meant === undefined ? undefined : { found: /[^\0-\x7f]+/u.exec(text)?.[0] ?? text, meant };
};
