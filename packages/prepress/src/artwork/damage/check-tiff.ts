// The first picture of a TIFF file by its directory (TIFF 6.0; BigTIFF as libtiff writes it): libtiff takes a strip that
// unpacks to too little, and a directory whose tags are out of order, for what they are.
import { inflateSync } from "node:zlib";
import { checkJpeg } from "./check-jpeg.ts";
import { Broken } from "./damage.ts";

const SIZES: Readonly<Record<number, number>> = {
  1: 1,
  2: 1,
  3: 2,
  4: 4,
  5: 8,
  6: 1,
  7: 1,
  8: 2,
  9: 4,
  10: 8,
  11: 4,
  12: 8,
  13: 4,
  16: 8,
  17: 8,
  18: 8,
};
const [LZW, JPEG, DEFLATE, OLD_DEFLATE, PACKED] = [5, 7, 8, 32_946, 32_773];

/** Throws `Broken` where the directory or a strip is damaged. Kinds of packing not named here are left to libtiff. */
export const checkTiff = (bytes: Uint8Array): void => {
  const tags = tagsOf(bytes);
  const one = (tag: number, otherwise: number): number => tags.get(tag)?.values[0] ?? otherwise;
  const [width, height] = [one(256, 0), one(257, 0)];
  const samples = one(277, 1);
  const bits = tags.get(258)?.values ?? [1];
  if (width === 0 || height === 0) throw new Broken("its size is missing");
  if (bits.length !== samples && bits.length !== 1) throw new Broken("the number of its samples is damaged");
  const planar = one(284, 1);
  if (planar !== 1 && planar !== 2) throw new Broken("the order of its samples is damaged");
  // Colours need their number of samples; what is beyond must be declared (tag 338).
  const needs = { 0: 1, 1: 1, 2: 3, 3: 1, 4: 1, 5: 4, 6: 3, 8: 3, 9: 3, 10: 3 }[one(262, -1)];
  if (needs === undefined || samples < needs || (samples > needs && !tags.has(338)))
    throw new Broken("its kind of colours does not go with its number of samples");
  if (![1, 2, 3].includes(one(317, 1)) || one(274, 1) < 1 || one(274, 1) > 8)
    throw new Broken("a tag of its directory holds what it may not");
  const tiled = tags.has(322);
  const [tileWide, tileHigh] = tiled ? [one(322, 0), one(323, 0)] : [width, Math.min(height, one(278, height))];
  if (!tileWide || !tileHigh) throw new Broken("the size of its strips is damaged");
  const offsets = tags.get(tiled ? 324 : 273)?.values ?? [];
  const counts = tags.get(tiled ? 325 : 279)?.values ?? [];
  const across = Math.ceil(width / tileWide);
  const down = Math.ceil(height / tileHigh);
  const wanted = across * down * (planar === 2 ? samples : 1);
  if (offsets.length !== wanted || counts.length !== wanted)
    throw new Broken(`it has ${offsets.length} strips, ${counts.length} lengths, and needs ${wanted}`);
  const depth = bits.length === 1 ? (bits[0] as number) : Math.max(...bits);
  const rowBytes = Math.ceil((tileWide * depth * (planar === 2 ? 1 : samples)) / 8);
  // Chroma of fewer pixels is packed in blocks of its own.
  const whole = one(262, 0) !== 6;
  const tables = tags.get(347)?.bytes;
  for (const [i, start] of offsets.entries()) {
    const count = counts[i] as number;
    if (count === 0 || start + count > bytes.length) throw new Broken(`strip ${i + 1} lies beyond its end`, start);
    const row = Math.floor((i % (across * down)) / across);
    const rows = tiled ? tileHigh : Math.min(tileHigh, height - row * tileHigh);
    const strip = bytes.subarray(start, start + count);
    try {
      checkStrip(strip, one(259, 1), whole ? rows * rowBytes : undefined, { tables, reversed: one(266, 1) === 2 });
    } catch (error) {
      if (error instanceof Broken) throw new Broken(`strip ${i + 1} of ${wanted}: ${error.message}`, start);
      throw error;
    }
  }
};

const checkStrip = (
  strip: Uint8Array,
  packing: number,
  wanted: number | undefined,
  { tables, reversed }: { readonly tables: Uint8Array | undefined; readonly reversed: boolean },
): void => {
  const exact = (found: number): void => {
    if (wanted !== undefined && found < wanted) throw new Broken(`${found} bytes of pixels instead of ${wanted}`);
  };
  if (packing === 1) exact(strip.length);
  else if (packing === JPEG) checkJpeg(strip, tables);
  else if (packing === LZW && !reversed && wanted !== undefined) checkLzw(strip, wanted);
  else if (packing === PACKED) exact(packedLength(strip));
  else if (packing === DEFLATE || packing === OLD_DEFLATE) {
    let found: number;
    try {
      found = inflateSync(strip, wanted === undefined ? {} : { maxOutputLength: wanted + 65_536 }).length;
    } catch (error) {
      throw new Broken(`it cannot be unpacked (${(error as Error).message})`);
    }
    exact(found);
  }
};

/** Length of what PackBits unpacks to. */
const packedLength = (strip: Uint8Array): number => {
  let length = 0;
  for (let at = 0; at < strip.length; ) {
    const head = strip[at] as number;
    if (head < 128) {
      if (at + 2 + head > strip.length) throw new Broken("it ends within a run");
      [at, length] = [at + 2 + head, length + head + 1];
    } else if (head > 128) {
      if (at + 1 >= strip.length) throw new Broken("it ends within a run");
      [at, length] = [at + 2, length + 257 - head];
    } else at++;
  }
  return length;
};

/** LZW of TIFF (section 13): every code must exist, the strings must come to the strip's length, and end code and bytes with them. */
const checkLzw = (strip: Uint8Array, wanted: number): void => {
  const lengths = new Uint32Array(4097);
  lengths.fill(1, 0, 256);
  let [next, width, length] = [258, 9, 0];
  let last = -1;
  let bit = 0;
  for (;;) {
    if (length > wanted) throw new Broken(`it unpacks to more than ${wanted} bytes`);
    if (bit + width > 8 * strip.length) break;
    let code = 0;
    const first = bit >> 3;
    code = (((strip[first] ?? 0) << 16) | ((strip[first + 1] ?? 0) << 8) | (strip[first + 2] ?? 0)) >>> 0;
    code = (code >> (24 - width - (bit & 7))) & ((1 << width) - 1);
    bit += width;
    if (code === 257) break;
    if (code === 256) {
      [next, width, last] = [258, 9, -1];
      continue;
    }
    if (last < 0) {
      if (code > 255) throw new Broken("it holds a code that does not exist");
      length += 1;
    } else {
      if (code > next || (code >= 256 && code < 258)) throw new Broken("it holds a code that does not exist");
      if (next > 4095) throw new Broken("its table runs over");
      lengths[next] = (lengths[last] as number) + 1;
      length += lengths[code] as number;
      next++;
      // One code early, as TIFF has it.
      if (next === 511) width = 10;
      else if (next === 1023) width = 11;
      else if (next === 2047) width = 12;
    }
    last = code;
  }
  if (length < wanted) throw new Broken(`${length} bytes of pixels instead of ${wanted}`);
  if (length > wanted) throw new Broken(`it unpacks to more than ${wanted} bytes`);
  if (strip.length - Math.ceil(bit / 8) > 3) throw new Broken("bytes are left over behind its end");
};

interface Tag {
  readonly values: readonly number[];
  readonly bytes: Uint8Array;
}

/** The first directory: numbers of every tag of whole numbers, and its bytes. Throws `Broken`, or `RangeError` where the file ends. */
export const tagsOf = (file: Uint8Array): ReadonlyMap<number, Tag> => {
  const view = new DataView(file.buffer, file.byteOffset, file.byteLength);
  const little = file[0] === 0x49;
  const order = Buffer.from(file.subarray(0, 2)).toString("latin1");
  if (order !== "II" && order !== "MM") throw new Broken("it does not begin as a TIFF", 0);
  const big = view.getUint16(2, little) === 43;
  if (!big && view.getUint16(2, little) !== 42) throw new Broken("it does not begin as a TIFF", 0);
  const word = (at: number): number => (big ? Number(view.getBigUint64(at, little)) : view.getUint32(at, little));
  const start = word(big ? 8 : 4);
  if (start + 2 > file.length) throw new Broken("its directory lies beyond its end", start);
  const count = big ? Number(view.getBigUint64(start, little)) : view.getUint16(start, little);
  const [size, field] = big ? [20, 8] : [12, 4];
  const first = start + (big ? 8 : 2);
  if (first + count * size > file.length) throw new Broken("its directory is longer than the file", start);
  const tags = new Map<number, Tag>();
  let before = -1;
  for (let at = first; at < first + count * size; at += size) {
    const tag = view.getUint16(at, little);
    if (tag <= before) throw new Broken("the tags of its directory are out of order", at);
    before = tag;
    const type = view.getUint16(at + 2, little);
    const width = SIZES[type];
    if (!width) throw new Broken(`tag ${tag} is of a type that does not exist`, at);
    const number = word(at + 4);
    const place = number * width > field ? word(at + 4 + field) : at + 4 + field;
    if (place + number * width > file.length) throw new Broken(`tag ${tag} lies beyond its end`, at);
    const bytes = file.subarray(place, place + number * width);
    const whole = type === 3 ? 2 : type === 4 || type === 13 ? 4 : type === 16 || type === 18 ? 8 : type === 1 ? 1 : 0;
    const read = (i: number): number =>
      whole === 2
        ? view.getUint16(place + 2 * i, little)
        : whole === 4
          ? view.getUint32(place + 4 * i, little)
          : whole === 8
            ? Number(view.getBigUint64(place + 8 * i, little))
            : (file[place + i] as number);
    tags.set(tag, {
      values: whole === 0 || tag >= 32_768 ? [] : Array.from({ length: number }, (_, i) => read(i)),
      bytes,
    });
  }
  return tags;
};
