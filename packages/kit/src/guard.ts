// Names and paths are the only things of a kit that reach a disk. Both are judged here, as text, before anybody opens
// anything; links on the disk can only be seen by whoever opens the file.

/** Most characters of a name: 60 of four bytes stay under the 255 bytes of a file name, with room for a suffix. */
const LONGEST_NAME = 60;
const LONGEST_PATH = 1000;

// Each rule is the source of a regular expression (with the flag u), so that the JSON Schemas of the forms can carry it too.
const CONTROL_SIGN = String.raw`\p{Cc}`;
/**
 * What reorders or hides text and leaves no ink of its own: bidi embeddings, overrides and isolates, zero-width spaces, the byte
 * order mark, soft hyphens, fillers, variation selectors, tags (Default_Ignorable_Code_Point of Unicode), line and
 * paragraph separators, annotation marks, the blank of braille. The joiners U+200C and U+200D are judged by the next rule.
 */
const DECEIVING_SIGN = String.raw`(?![\u200c\u200d])[\p{DI}\u2028-\u2029\ufff9-\ufffb\u2800]`;
/** Names of some scripts need joiners between two letters; elsewhere they only make equal names different. */
const LOOSE_JOINER = String.raw`(?<![\p{L}\p{M}])[\u200c\u200d]|[\u200c\u200d](?![\p{L}\p{M}])|(?<=\p{Script=Latin})[\u200c\u200d]`;
/** Marks stacked higher than any script's writing: they would run out of their line, over a neighbour. */
const STACKED_MARKS = String.raw`[\p{Mn}\p{Me}]{5}`;
const HALF_A_PAIR = String.raw`[\ud800-\udfff]`;
/** What a decoder writes for bytes it cannot read: a file in another encoding, and a buyer's name that would be printed wrong. */
const LOST = "\ufffd";
const LOST_WORDS = "has U+FFFD in it, the sign for a letter that was lost; the file is perhaps not in UTF-8";
const DEVICE = "(?:[cC][oO][nN]|[pP][rR][nN]|[aA][uU][xX]|[nN][uU][lL]|[cC][oO][mM][0-9]|[lL][pP][tT][0-9])";

const CONTROL = new RegExp(CONTROL_SIGN, "u");
const DECEIVING = new RegExp(DECEIVING_SIGN, "u");
const JOINER = new RegExp(LOOSE_JOINER, "u");
const STACKED = new RegExp(STACKED_MARKS, "u");
const LONE_SURROGATE = new RegExp(HALF_A_PAIR, "u");
const RESERVED = new RegExp(String.raw`^${DEVICE}(?:\..*)?$`, "u");

const GOOD_SIGNS = String.raw`(?![\s\S]*(?:${CONTROL_SIGN}|${DECEIVING_SIGN}|${LOOSE_JOINER}|${STACKED_MARKS}|${HALF_A_PAIR}|\ufffd))`;
/** `badTitle` as a pattern. */
export const TITLE_PATTERN = `^${GOOD_SIGNS}`;
/** `badName` as a pattern. */
export const NAME_PATTERN = String.raw`^${GOOD_SIGNS}(?![\s\S]*[\\\/:*?"<>\|])(?![\s.\-])(?![\s\S]*[\s.]$)(?!${DEVICE}(?:\.[\s\S]*)?$)(?!__proto__$)[\s\S]{1,${LONGEST_NAME}}$`;
/** `badPath` as a pattern. */
export const PATH_PATTERN = String.raw`^${GOOD_SIGNS}(?![\s\S]*[\\:])(?![\/~])(?![\s\S]*%(?:2[eEfF]|5[cC]|00))(?![\s\S]*(?:^|\/)\.{0,2}(?:\/|$))(?![\s\S]*[\s.](?:\/|$))(?![\s\S]*(?:^|\/)${DEVICE}(?:\.[^\/]*)?(?:\/|$))(?![\s\S]*\.(?:[lL][nN][kK]|[uU][rR][lL]|[sS][yY][mM][lL][iI][nN][kK]|[dD][eE][sS][kK][tT][oO][pP]|[wW][eE][bB][lL][oO][cC])$)[\s\S]{1,${LONGEST_PATH}}$`;

/** Why a text must not be shown on papers, in logs and on terminals; undefined when it is what it looks like. */
const badSign = (text: string): string | undefined => {
  const control = CONTROL.exec(text);
  if (control) return `has the control character ${codeOf(control[0])} in it`;
  if (LONE_SURROGATE.test(text)) return "is not well-formed Unicode";
  const deceiving = DECEIVING.exec(text) ?? JOINER.exec(text);
  if (deceiving) return `has the invisible character ${codeOf(deceiving[0])} in it, which changes how it reads`;
  if (text.includes(LOST)) return LOST_WORDS;
  if (STACKED.test(text)) return "has more than four marks stacked on one letter";
  return undefined;
};

const codeOf = (sign: string): string => `U+${(sign.codePointAt(0) ?? 0).toString(16).toUpperCase().padStart(4, "0")}`;

/** Why a title must not be printed; undefined when it may. It is shown, never a file's name: any visible sign is welcome. */
export const badTitle = badSign;

/** Why a name would be bad as part of a file name; undefined when it is good. */
export const badName = (name: string): string | undefined => {
  if (name.length === 0) return "is empty";
  if (Array.from(name).length > LONGEST_NAME)
    return `has ${Array.from(name).length} characters, at most ${LONGEST_NAME} are allowed`;
  const sign = badSign(name);
  if (sign) return sign;
  const bad = /[\\/:*?"<>|]/.exec(name);
  if (bad) return `has a ${bad[0]} in it`;
  if (name.startsWith(".")) return "begins with a dot";
  if (name.startsWith("-")) return "begins with a hyphen";
  if (/^\s|[\s.]$/u.test(name)) return "begins or ends with a space, or ends with a dot";
  if (RESERVED.test(name)) return "is a device name on some computers";
  if (name === "__proto__") return "is a reserved word";
  return undefined;
};

/** Why a path must not be opened; undefined when it stays inside the kit's folder. */
export const badPath = (path: string): string | undefined => {
  if (path.length === 0) return "is empty";
  if (Array.from(path).length > LONGEST_PATH) return `has ${Array.from(path).length} characters`;
  const sign = badSign(path);
  if (sign) return sign;
  if (path.includes("\\")) return "has a backslash in it";
  if (path.startsWith("/")) return "is absolute";
  if (path.startsWith("~")) return "begins in a home folder";
  if (path.includes(":")) return "has a drive letter or a scheme in it";
  if (/%(2e|2f|5c|00)/i.test(path)) return "has an encoded dot or slash in it";
  const steps = path.split("/");
  if (steps.includes("..")) return "leaves the kit's folder";
  if (steps.some((s) => s === "" || s === ".")) return "has an empty step in it";
  if (steps.some((s) => /[\s.]$/u.test(s))) return "has a step that ends with a space or a dot";
  if (steps.some((s) => RESERVED.test(s))) return "has a device name in it";
  if (/\.(lnk|url|symlink|desktop|webloc)$/i.test(path)) return "is a link to somewhere else";
  return undefined;
};

/** What must not stand in a text that is set: control characters and marks that override the order of reading. */
export const badText = (text: string): string | undefined => {
  if (LONE_SURROGATE.test(text)) return "is not well-formed Unicode";
  if (text.includes(LOST)) return LOST_WORDS;
  // Joiners (200c, 200d) and the plain direction marks (200e, 200f, 061c) are needed by real names; overrides are not.
  const bad = /[\p{Cc}\u2028-\u202e\u2066-\u2069\ufeff\ufff9-\ufffb]/u.exec(text);
  if (!bad) return undefined;
  const code = bad[0].charCodeAt(0);
  const name = `U+${code.toString(16).toUpperCase().padStart(4, "0")}`;
  return code < 0xa0
    ? `has the control character ${name} in it`
    : `has the mark ${name} in it, which overrides reading`;
};
