// Names and paths are the only things of a kit that reach a disk. Both are judged here, as text, before anybody opens
// anything; links on the disk can only be seen by whoever opens the file.

/** Most characters of a name: 60 of four bytes stay under the 255 bytes of a file name, with room for a suffix. */
const LONGEST_NAME = 60;
const LONGEST_PATH = 1000;

const CONTROL = /\p{Cc}/u;
/** Marks that reorder or hide text: bidi embeddings, overrides and isolates, zero-width spaces, the byte order mark. */
const DECEIVING = /[\u061c\u200b\u200e\u200f\u2028-\u202e\u2060-\u2069\ufeff\ufff9-\ufffb]/;
const LONE_SURROGATE = /[\ud800-\udfff]/u;
/** What a decoder writes for bytes it cannot read: a file in another encoding, and a buyer's name that would be printed wrong. */
const LOST = "\ufffd";
const LOST_WORDS = "has U+FFFD in it, the sign for a letter that was lost; the file is perhaps not in UTF-8";
const RESERVED = /^(con|prn|aux|nul|com\d|lpt\d)(\..*)?$/i;

/** Why a name would be bad as part of a file name; undefined when it is good. */
export const badName = (name: string): string | undefined => {
  if (name.length === 0) return "is empty";
  if (Array.from(name).length > LONGEST_NAME)
    return `has ${Array.from(name).length} characters, at most ${LONGEST_NAME} are allowed`;
  if (CONTROL.test(name)) return "has a control character in it";
  if (DECEIVING.test(name)) return "has an invisible character in it that changes how it reads";
  if (LONE_SURROGATE.test(name)) return "is not well-formed Unicode";
  if (name.includes(LOST)) return LOST_WORDS;
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
  if (path.length > LONGEST_PATH) return `has ${path.length} characters`;
  if (path.includes("\0")) return "has a NUL in it";
  if (CONTROL.test(path) || DECEIVING.test(path)) return "has an invisible character in it";
  if (LONE_SURROGATE.test(path)) return "is not well-formed Unicode";
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
