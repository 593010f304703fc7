import { brotliDecompressSync } from "node:zlib";
import { viewOf } from "./bytes.ts";

/** Tables known by number (W3C, WOFF File Format 2.0, section 5.1, "Known Table Tags"): those whose place matters here. */
const [HEAD, GLYF, LOCA, OWN_TAG] = [1, 10, 11, 63];
const ALL_KNOWN = 63;

/**
 * `checkSumAdjustment` of the font that was packed, as the packed `head` has it. WOFF2 keeps no sums of its own, and who
 * unpacks it writes new ones: this number, against that of the unpacked font, is the only witness. `null` where the file
 * does not say (no head). Throws where it cannot be read.
 */
export const packedAdjustment = (file: Uint8Array, most: number): number | null => {
  const view = viewOf(file);
  let at = 48;
  const number = (): number => {
    let value = 0;
    for (let i = 0; i < 5; i++) {
      const byte = view.getUint8(at++);
      value = value * 128 + (byte & 127);
      if (byte < 128) return value;
    }
    throw new RangeError("a length that does not end");
  };
  let offset = 0;
  let head = -1;
  for (let i = 0; i < view.getUint16(12); i++) {
    const flags = view.getUint8(at++);
    const known = flags & ALL_KNOWN;
    if (known === OWN_TAG) at += 4;
    const length = number();
    // glyf and loca are transformed unless their version is 3, all others when it is not 0.
    const transformed = known === GLYF || known === LOCA ? flags >> 6 !== 3 : flags >> 6 !== 0;
    const stored = transformed ? number() : length;
    if (known === HEAD) head = offset;
    offset += stored;
  }
  if (head < 0 || offset > most) return null;
  const data = brotliDecompressSync(file.subarray(at, at + view.getUint32(20)), { maxOutputLength: offset });
  return data.length < head + 12 ? null : data.readUInt32BE(head + 8);
};
