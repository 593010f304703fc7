import { Broken } from "../damage/damage.ts";

/** How far from its end the end of a PDF is looked for (ISO 32000-1, annex H). */
const TAIL = 1024;

/**
 * Throws `Broken` where a PDF is cut off or its table of objects points at something else (classic tables; those that are
 * streams are held by their own check sums). Readers then search the file for whatever looks like an object, and find older
 * or half ones.
 */
export const checkFile = (bytes: Uint8Array): void => {
  const file = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const tail = file.subarray(Math.max(0, file.length - TAIL)).toString("latin1");
  const end = /startxref\s+(\d+)\s+%%EOF/.exec(tail.slice(Math.max(0, tail.lastIndexOf("startxref"))));
  if (!end) throw new Broken("it ends before its end");
  // Offsets count from the header, before which junk may stand.
  const header = Math.max(0, file.subarray(0, TAIL).indexOf("%PDF-"));
  const seen = new Set<number>();
  let at: number | undefined = Number(end[1]);
  // Offset 0 is a linearised file's word for "see the first table".
  while (at !== undefined && !seen.has(at)) {
    seen.add(at);
    at = checkTable(file, at, header);
  }
};

/** One table and its objects; gives the place of the one before it. */
const checkTable = (file: Buffer, place: number, header: number): number | undefined => {
  const starts = [place, place + header].find((at) => /^\s*(?:xref|\d+\s+\d+\s+obj)/.test(text(file, at, 40)));
  if (starts === undefined) throw new Broken("its table of objects is not where it should be", place);
  const shift = starts - place;
  if (!/^\s*xref/.test(text(file, starts, 40))) return undefined;
  let at = file.indexOf("xref", starts) + 4;
  for (;;) {
    const head = /^\s*(\d+)\s+(\d+)[ \t]*(?:\r\n|\r|\n)\s*/.exec(text(file, at, 60));
    if (!head) break;
    at += head[0].length;
    let first = Number(head[1]);
    for (let i = 0; i < Number(head[2]); i++, at += 20) {
      const entry = /^(\d{10}) (\d{5}) ([nf])/.exec(text(file, at, 20));
      if (!entry) throw new Broken("its table of objects is damaged", at);
      // A table that should begin at 0 and says 1 is an old and common slip.
      if (i === 0 && first === 1 && entry[3] === "f" && entry[2] === "65535") first = 0;
      const to = Number(entry[1]) + shift;
      if (entry[3] === "n" && to > shift) {
        const found = /^\s*(\d+)\s+(\d+)\s+obj/.exec(text(file, to, 40));
        if (Number(found?.[1] ?? -1) !== first + i)
          throw new Broken(`object ${first + i} is not where it should be`, to);
      }
    }
  }
  const trailer = text(file, at, 4096);
  const before = /\/Prev\s+(\d+)/.exec(trailer.slice(0, trailer.indexOf("startxref") >>> 0));
  return before ? Number(before[1]) : undefined;
};

const text = (file: Buffer, at: number, length: number): string =>
  file.toString("latin1", Math.max(0, at), at + length);
