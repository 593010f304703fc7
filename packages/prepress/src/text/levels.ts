import { createRequire } from "node:module";
import type Library from "bidi-js";

// By `require`: `import` of a CommonJS library reads it twice, first for its exports.
const bidiModule = createRequire(import.meta.url)("bidi-js") as typeof Library;
// The package's types describe an ES module, but Node loads its CommonJS file, whose export is the factory itself.
const bidi = (bidiModule as unknown as typeof bidiModule.default)();

/**
 * A character of the basic plane for each class of direction (UAX 9, table 4). The library goes through a text by UTF-16 units and
 * takes half of a surrogate pair for a Latin letter: an emoji would part a Hebrew line in two, and Adlam would run the wrong way.
 */
const STAND_INS: Readonly<Record<string, string>> = {
  L: "a",
  R: "\u05d0",
  AL: "\u0627",
  AN: "\u0660",
  EN: "0",
  ES: "+",
  ET: "%",
  CS: ",",
  NSM: "\u0300",
  BN: "\u200d",
  WS: " ",
  ON: "!",
};

/** Pictographs and symbols, all of them neutral (DerivedBidiClass.txt); the library knows those of Unicode 13 and takes later ones for letters. */
const isSign = (codePoint: number): boolean => codePoint >= 0x1f300 && codePoint <= 0x1fbef;

const inBasicPlane = (text: string): string =>
  text.replace(/[\u{10000}-\u{10ffff}]/gu, (c) => {
    const type = isSign(c.codePointAt(0) as number) ? "ON" : bidi.getBidiCharTypeName(c);
    return (STAND_INS[type] ?? "a").repeat(2);
  });

/** Direction of a paragraph. */
export type Direction = "ltr" | "rtl";

/** Direction of a paragraph by its first strong letter (UAX 9, rules P2 and P3); none where it has no such letter. */
export const directionOf = (text: string): Direction | undefined => {
  for (const c of inBasicPlane(text)) {
    const type = bidi.getBidiCharTypeName(c);
    if (type === "L") return "ltr";
    if (type === "R" || type === "AL") return "rtl";
  }
  return undefined;
};

/** Embedding level of each UTF-16 unit of a paragraph (UAX 9); left out, its own letters say its direction. */
export const levelsOf = (paragraph: string, direction: Direction = directionOf(paragraph) ?? "ltr"): Uint8Array =>
  bidi.getEmbeddingLevels(inBasicPlane(paragraph), direction).levels;
