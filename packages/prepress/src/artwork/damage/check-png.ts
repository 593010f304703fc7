// A PNG file by its own check sums (W3C PNG, third edition): libpng passes over those of side chunks, colour among them.
import zlib, { inflateSync } from "node:zlib";
import { Broken } from "./damage.ts";

const SIGNATURE = [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a];
const SAMPLES: Readonly<Record<number, number>> = { 0: 1, 2: 3, 3: 1, 4: 2, 6: 4 };

/** Adam7: first column, first row, step across, step down of each pass. */
const PASSES = [
  [0, 0, 8, 8],
  [4, 0, 8, 8],
  [0, 4, 4, 8],
  [2, 0, 4, 4],
  [0, 2, 2, 4],
  [1, 0, 2, 2],
  [0, 1, 1, 2],
] as const;

/** Throws `Broken` where a chunk, a check sum or the number of rows is wrong. */
export const checkPng = (bytes: Uint8Array): void => {
  if (SIGNATURE.some((byte, at) => bytes[at] !== byte)) throw new Broken("its signature is wrong", 0);
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const data: Uint8Array[] = [];
  let header: DataView | undefined;
  let at = 8;
  for (;;) {
    if (at + 12 > bytes.length) throw new Broken("it ends before its end chunk", at);
    const length = view.getUint32(at);
    const kind = Buffer.from(bytes.subarray(at + 4, at + 8)).toString("latin1");
    const end = at + 8 + length;
    if (end + 4 > bytes.length) throw new Broken(`chunk ${JSON.stringify(kind)} is longer than the file`, at);
    if (zlib.crc32(bytes.subarray(at + 4, end)) !== view.getUint32(end))
      throw new Broken(`the check sum of chunk ${JSON.stringify(kind)} is wrong`, at);
    if (!header && kind !== "IHDR") throw new Broken("it does not begin with its header", at);
    if (kind === "IHDR") header = new DataView(bytes.buffer, bytes.byteOffset + at + 8, length);
    else if (kind === "IDAT") data.push(bytes.subarray(at + 8, end));
    if (kind === "IEND") break;
    at = end + 4;
  }
  if (header) checkRows(Buffer.concat(data), rowsOf(header));
};

/** Bytes of each run of equal rows, the filter byte among them. */
const rowsOf = (header: DataView): { readonly rows: number; readonly bytes: number }[] => {
  const [width, height] = [header.getUint32(0), header.getUint32(4)];
  const bits = header.getUint8(8) * (SAMPLES[header.getUint8(9)] ?? 0);
  const row = (pixels: number): number => 1 + Math.ceil((pixels * bits) / 8);
  if (header.getUint8(12) === 0) return [{ rows: height, bytes: row(width) }];
  return PASSES.flatMap(([left, top, across, down]) => {
    const pixels = Math.ceil((width - left) / across);
    const rows = Math.ceil((height - top) / down);
    return pixels > 0 && rows > 0 ? [{ rows, bytes: row(pixels) }] : [];
  });
};

const checkRows = (packed: Uint8Array, parts: readonly { readonly rows: number; readonly bytes: number }[]): void => {
  const wanted = parts.reduce((sum, { rows, bytes }) => sum + rows * bytes, 0);
  let pixels: Uint8Array;
  try {
    pixels = inflateSync(packed, { maxOutputLength: wanted + 65_536 });
  } catch (error) {
    throw new Broken(`its pixels cannot be unpacked (${(error as Error).message})`);
  }
  if (pixels.length < wanted) throw new Broken(`it has ${pixels.length} bytes of pixels instead of ${wanted}`);
  let at = 0;
  for (const { rows, bytes } of parts)
    for (let row = 0; row < rows; row++, at += bytes)
      if ((pixels[at] as number) > 4) throw new Broken(`row ${row} has a filter that does not exist`);
};
