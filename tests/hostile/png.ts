// PNG files written by hand: chunks with their sums (PNG, third edition, W3C).

export const SIGNATURE = Buffer.from("\x89PNG\r\n\x1a\n", "latin1");

const CRC = Array.from({ length: 256 }, (_, n) => {
  let c = n;
  for (let k = 0; k < 8; k++) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1;
  return c >>> 0;
});
const crc = (bytes: Uint8Array): number => {
  let c = 0xffffffff;
  for (const byte of bytes) c = ((CRC[(c ^ byte) & 255] as number) ^ (c >>> 8)) >>> 0;
  return (c ^ 0xffffffff) >>> 0;
};
/** A chunk with its right sum. */
export const chunk = (type: string, data: Uint8Array): Buffer => {
  const body = Buffer.concat([Buffer.from(type, "latin1"), data]);
  const ends = Buffer.alloc(8);
  ends.writeUInt32BE(data.length, 0);
  ends.writeUInt32BE(crc(body), 4);
  return Buffer.concat([ends.subarray(0, 4), body, ends.subarray(4)]);
};
/** A picture with this header and this packed data. */
export const png = (
  width: number,
  height: number,
  depth: number,
  colour: number,
  data: Uint8Array,
  more: readonly Buffer[] = [],
): Uint8Array => {
  const head = Buffer.alloc(13);
  head.writeUInt32BE(width >>> 0, 0);
  head.writeUInt32BE(height >>> 0, 4);
  head.set([depth, colour, 0, 0, 0], 8);
  return new Uint8Array(
    Buffer.concat([SIGNATURE, chunk("IHDR", head), ...more, chunk("IDAT", data), chunk("IEND", new Uint8Array())]),
  );
};
