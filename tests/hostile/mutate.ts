// Mutants: what a broken transfer, a bad program or an ill will makes of a file. A number gives the same mutant every time.
import { sealed } from "../support/fonts.ts";
import { chunk, SIGNATURE } from "./png.ts";
import { randomFrom } from "./random.ts";

type Random = (below: number) => number;
type Bytes = Buffer<ArrayBufferLike>;

/** Values at the edges of what readers take. */
const NUMBERS = [
  "0",
  "-1",
  "1",
  "1e9",
  "-1e9",
  "1e400",
  "NaN",
  "0.000001",
  "2147483648",
  "4294967295",
  "65535",
  ".",
  "",
];
/** Words that mean something to one reader or another. */
const WORDS = [
  "url(#a)",
  "#a",
  "none",
  "null",
  "true",
  "[]",
  "{}",
  "../..",
  "%n",
  "data:,",
  "\u202e",
  "\u0000",
  "&#0;",
  "<<",
  ">>",
  "/F",
  "endobj",
  "stream",
  "Q q",
  "\ufeff",
];

const one = <T>(of: readonly T[], random: Random): T => of[random(of.length)] as T;
const replaceOne = (text: string, pattern: RegExp, by: string, random: Random): string => {
  const found = [...text.matchAll(pattern)];
  if (found.length === 0) return text;
  const { index, 0: old } = one(found, random);
  return text.slice(0, index) + by + text.slice(index + old.length);
};

/** Bytes changed, filled, taken out, doubled, moved, cut off. */
const ofBytes = (from: Bytes, other: Uint8Array, random: Random): Bytes => {
  const bytes = Buffer.from(from);
  const at = random(Math.max(1, bytes.length));
  const end = Math.min(bytes.length, at + 1 + random(64));
  switch (random(8)) {
    case 0:
    case 1:
      bytes[at] = random(256);
      return bytes;
    case 2:
      bytes[at] = (bytes[at] as number) ^ (1 << random(8));
      return bytes;
    case 3:
      return bytes.fill(random(2) * 255, at, end);
    case 4:
      return Buffer.concat([bytes.subarray(0, at), bytes.subarray(end)]);
    case 5:
      return Buffer.concat([bytes.subarray(0, end), bytes.subarray(at)]);
    case 6: {
      const cut = random(other.length);
      return Buffer.concat([bytes.subarray(0, at), other.subarray(cut, cut + 64), bytes.subarray(at)]);
    }
    default:
      return random(4) === 0 ? bytes.subarray(0, Math.max(1, end)) : bytes;
  }
};

/** Numbers and words of a text exchanged. */
const ofText = (from: Bytes, random: Random): Bytes => {
  const text = from.toString("latin1");
  const way = random(8);
  const number = way < 3 ? one(NUMBERS, random) : String(way < 5 ? random(1000) : random(2 ** 31));
  const mark = one(['"', "<", ">", "{", "}", "[", "]", "(", ")", "/", ""], random);
  const said =
    way < 6
      ? replaceOne(text, /-?\d+(\.\d+)?/g, number, random)
      : way === 6
        ? replaceOne(text, /[\w#]+/g, Buffer.from(one(WORDS, random)).toString("latin1"), random)
        : replaceOne(text, /["<>{}[\]()/]/g, mark, random);
  return Buffer.from(said, "latin1");
};

/** A PNG whose sums are right again: what is wrong in it gets as far as its decoder. */
const resummed = (bytes: Bytes): Bytes => {
  if (!bytes.subarray(0, 8).equals(SIGNATURE)) return bytes;
  const parts: Bytes[] = [SIGNATURE];
  let at = 8;
  while (at + 12 <= bytes.length) {
    const length = Math.min(bytes.readUInt32BE(at), bytes.length - at - 12);
    parts.push(chunk(bytes.toString("latin1", at + 4, at + 8), bytes.subarray(at + 8, at + 8 + length)));
    at += 12 + length;
  }
  return Buffer.concat(parts);
};

/** A PDF whose streams are as long as they say and whose table of objects is right again. */
const retabled = (bytes: Bytes): Bytes => {
  const text = bytes.toString("latin1");
  const end = text.lastIndexOf("\nxref\n");
  const trailer = /trailer\s*(<<[^]*?>>)\s*startxref/.exec(text)?.[1];
  // What keeps its objects in streams has no such table.
  if (end < 0 || trailer === undefined) return bytes;
  const body = text
    .slice(0, end + 1)
    .replace(
      /\/Length \d+([^]{0,200}?>>\s*stream\n)([^]*?)(\nendstream)/g,
      (_, head: string, content: string, tail: string) => `/Length ${content.length}${head}${content}${tail}`,
    );
  const objects = [...body.matchAll(/(?<=\n)(\d+) 0 obj/g)].map(
    ({ index, 1: number }) => [Number(number), index] as const,
  );
  const most = Math.min(1000, Math.max(0, ...objects.map(([number]) => number)));
  const rows = Array.from({ length: most }, (_, i) => {
    const at = objects.find(([number]) => number === i + 1)?.[1];
    return at === undefined ? "0000000000 65535 f \n" : `${String(at).padStart(10, "0")} 00000 n \n`;
  });
  const table = `xref\n0 ${most + 1}\n0000000000 65535 f \n${rows.join("")}trailer\n${trailer}\nstartxref\n${body.length}\n%%EOF\n`;
  return Buffer.from(body + table, "latin1");
};

/** A font whose sums are right again, where it still has a directory. */
const resealed = (bytes: Bytes): Bytes => {
  try {
    return Buffer.from(sealed(new Uint8Array(bytes)));
  } catch {
    return bytes;
  }
};

const IS_TEXT = /\.(svg|json|pdf)$/;

/**
 * The mutant with this number of this file.
 * @param others files that pieces of it may come from
 */
export const mutantOf = (
  file: string,
  bytes: Uint8Array,
  number: number,
  others: readonly Uint8Array[],
): Uint8Array => {
  const random = randomFrom(number);
  let mutant: Bytes = Buffer.from(bytes);
  // Most have one fault alone: they get deepest.
  const faults = random(4) > 0 ? 1 : 1 + random(6);
  for (let i = 0; i < faults; i++)
    mutant =
      IS_TEXT.test(file) && random(3) > 0 ? ofText(mutant, random) : ofBytes(mutant, one(others, random), random);
  if (file.endsWith(".pdf") && random(4) > 0) mutant = retabled(mutant);
  if (file.endsWith(".png") && random(3) > 0) mutant = resummed(mutant);
  if (/\.(ttf|otf)$/.test(file) && random(3) > 0) mutant = resealed(mutant);
  return new Uint8Array(mutant);
};
