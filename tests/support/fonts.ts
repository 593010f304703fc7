// Fonts altered for tests: what a table holds, where it stands, and sums that are right again after it.
const viewOf = (font: Uint8Array): DataView => new DataView(font.buffer, font.byteOffset, font.byteLength);

/** Where the directory entry of a table lies in an sfnt file. */
export const entryOf = (font: Uint8Array, tag: string): number => {
  const view = viewOf(font);
  for (let at = 12; at < 12 + 16 * view.getUint16(4); at += 16)
    if (String.fromCharCode(...font.subarray(at, at + 4)) === tag) return at;
  throw new Error(`no table ${tag}`);
};

/** The bytes of a table, as they stand in the file. */
export const tableOf = (font: Uint8Array, tag: string): Uint8Array => {
  const [offset, length] = [8, 12].map((at) => viewOf(font).getUint32(entryOf(font, tag) + at)) as [number, number];
  return font.subarray(offset, offset + length);
};

const sumOf = (bytes: Uint8Array): number => {
  const padded = new Uint8Array((bytes.length + 3) & ~3);
  padded.set(bytes);
  let sum = 0;
  for (let at = 0; at < padded.length; at += 4) sum = (sum + viewOf(padded).getUint32(at)) >>> 0;
  return sum;
};

/** The font with every sum right, as the program that saved it would have left it (OpenType, "Calculating checksums"). */
export const sealed = (from: Uint8Array): Uint8Array => {
  const font = from.slice();
  const view = viewOf(font);
  const head = view.getUint32(entryOf(font, "head") + 8);
  view.setUint32(head + 8, 0);
  for (let at = 12; at < 12 + 16 * view.getUint16(4); at += 16) {
    const [offset, length] = [view.getUint32(at + 8), view.getUint32(at + 12)];
    view.setUint32(at + 4, sumOf(font.subarray(offset, offset + length)));
  }
  view.setUint32(head + 8, (0xb1b0afba - sumOf(font)) >>> 0);
  return font;
};
