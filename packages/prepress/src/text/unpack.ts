// oxlint-disable-next-line typescript/triple-slash-reference -- the only way the types reach programs that read these sources
/// <reference path="./wawoff2.d.ts" />
import { inflateSync } from "node:zlib";
import { tagAt } from "./font/bytes.ts";
import { readSfnt } from "./font/sfnt.ts";
import { packedAdjustment } from "./font/woff2.ts";

/** A font file larger than this, packed or unpacked, is not read: the largest CJK faces stay below it. Bytes. */
const LARGEST_FONT = 64 * 1024 * 1024;

/** A font as a plain sfnt file, and why it may not be what was packed. */
export interface Unpacked {
  readonly sfnt: Uint8Array;
  readonly doubts: readonly string[];
  /** Put together anew: the sum of the whole file says nothing. */
  readonly rebuilt: boolean;
}

/**
 * A font file as handed in (TrueType, OpenType, WOFF, WOFF2) to a plain sfnt file.
 * Throws an `Error` whose message says what is wrong with the file.
 */
export const unpackFont = async (bytes: Uint8Array): Promise<Unpacked> => {
  if (bytes.length < 12) throw new Error(`it has only ${bytes.length} bytes`);
  if (bytes.length > LARGEST_FONT) throw new Error(`it has ${bytes.length} bytes, more than ${LARGEST_FONT}`);
  const signature = tagAt(new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength), 0);
  switch (signature) {
    case "\0\x01\0\0":
    case "OTTO":
    case "true":
    case "ttcf":
      return { sfnt: bytes, doubts: [], rebuilt: false };
    case "wOFF":
      return { sfnt: unpackWoff(bytes), doubts: [], rebuilt: true };
    case "wOF2": {
      // Loaded only when met: the decoder is a wasm module of its own.
      const { decompress } = await import("wawoff2");
      const sfnt = new Uint8Array(await decompress(bytes));
      return { sfnt, doubts: altered(bytes, sfnt), rebuilt: true };
    }
    default:
      throw new Error("it is neither TrueType, OpenType, WOFF nor WOFF2");
  }
};

/**
 * Of 90 WOFF2 files met in the wild 83 carry the sum of the font that comes out of them; the others were packed by programs
 * that did not write it anew. So a sum that differs is a doubt, not a fault.
 */
const altered = (packed: Uint8Array, sfnt: Uint8Array): string[] => {
  const head = readSfnt(sfnt, true).tables.get("head");
  if (!head || head.length < 12) return [];
  const own = new DataView(head.buffer, head.byteOffset).getUint32(8);
  const before = packedAdjustment(packed, LARGEST_FONT);
  return before === null || before === own ? [] : ["unpacked, it is not what its checksum says"];
};

/** WOFF 1.0 (W3C): the sfnt tables, each deflated by itself. */
const unpackWoff = (bytes: Uint8Array): Uint8Array => {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (bytes.length < 44) throw new Error("its WOFF header is cut short");
  const count = view.getUint16(12);
  if (44 + count * 20 > bytes.length) throw new Error("its WOFF table directory is cut short");
  const tables = Array.from({ length: count }, (_, i) => {
    const at = 44 + i * 20;
    const [tag, offset, packed] = [tagAt(view, at), view.getUint32(at + 4), view.getUint32(at + 8)];
    const [length, checksum] = [view.getUint32(at + 12), view.getUint32(at + 16)];
    if (offset + packed > bytes.length || packed > length || length > LARGEST_FONT)
      throw new Error(`its WOFF table ${tag} lies outside the file`);
    const raw = bytes.subarray(offset, offset + packed);
    // The limit makes a deflate bomb fail at the declared size; a table that does not shrink is stored as it is.
    const data = packed === length ? raw : inflateSync(raw, { maxOutputLength: Math.max(1, length) });
    if (data.length !== length) throw new Error(`its WOFF table ${tag} unpacks to another length than it says`);
    return { tag, data, checksum };
  });
  const total = tables.reduce((sum, t) => sum + ((t.data.length + 3) & ~3), 12 + 16 * count);
  if (total > LARGEST_FONT) throw new Error(`it unpacks to ${total} bytes, more than ${LARGEST_FONT}`);
  const sfnt = new Uint8Array(total);
  const out = new DataView(sfnt.buffer);
  out.setUint32(0, view.getUint32(4));
  out.setUint16(4, count);
  const power = count > 0 ? Math.floor(Math.log2(count)) : 0;
  out.setUint16(6, 16 * 2 ** power);
  out.setUint16(8, power);
  out.setUint16(10, 16 * (count - 2 ** power));
  let end = 12 + 16 * count;
  for (const [i, { tag, data, checksum }] of tables.entries()) {
    const at = 12 + 16 * i;
    for (let k = 0; k < 4; k++) out.setUint8(at + k, tag.charCodeAt(k));
    out.setUint32(at + 4, checksum);
    out.setUint32(at + 8, end);
    out.setUint32(at + 12, data.length);
    sfnt.set(data, end);
    end += (data.length + 3) & ~3;
  }
  return sfnt;
};
