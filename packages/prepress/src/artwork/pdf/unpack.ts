import { inflateRawSync, inflateSync } from "node:zlib";
import {
  decodePDFRawStream,
  PDFArray,
  PDFDict,
  PDFName,
  PDFNumber,
  type PDFObject,
  PDFRawStream,
} from "../../pdf-lib.ts";
import { Broken } from "../damage/damage.ts";

const name = (key: string): PDFName => PDFName.of(key);
/** A content stream longer than this is no content stream: a page with a million curves has 40 MB. */
const MOST = 2 ** 26;

/** Names of a stream's filters, in the order they are taken off. */
export const filtersOf = ({ dict }: PDFRawStream): string[] => {
  const filter = dict.lookup(name("Filter"));
  const all = filter instanceof PDFArray ? filter.asArray().map((_, i) => filter.lookup(i)) : [filter];
  return all.flatMap((one) => (one instanceof PDFName ? [one.toString().slice(1)] : []));
};

/** The bytes of a content stream. Throws `Broken` when they cannot be had whole, or when a small stream would grow without end. */
export const unpack = (stream: PDFRawStream): Uint8Array => {
  const { bytes, left } = unpacked(stream, MOST);
  if (left !== undefined) throw new Broken(`a stream is packed as ${left}`);
  return bytes;
};

/**
 * Takes a stream's filters off, up to one that packs pictures only.
 *
 * @returns `left`: that filter, not taken off
 * @throws Broken when a check sum is wrong or the packed data end before their end
 */
export const unpacked = (
  stream: PDFRawStream,
  most: number,
): { readonly bytes: Uint8Array; readonly left: string | undefined } => {
  const { dict } = stream;
  let bytes = stream.getContents();
  for (const [i, filter] of filtersOf(stream).entries()) {
    if (/^(?:DCT|JPX|CCITTFax|JBIG2)Decode$|^(?:DCT|CCF)$/.test(filter)) return { bytes, left: filter };
    if (filter === "Crypt") continue;
    const parms = dict.lookup(name("DecodeParms")) ?? dict.lookup(name("DP"));
    const own = parms instanceof PDFArray ? parms.lookup(i) : i === 0 ? parms : undefined;
    if (filter === "FlateDecode" || filter === "Fl") {
      const plain = inflated(bytes, most);
      bytes = own instanceof PDFDict && predictorOf(own) > 1 ? unpredicted(plain, own) : plain;
    } else bytes = byLibrary(bytes, filter, own, dict);
  }
  return { bytes, left: undefined };
};

/** Zlib data to their end. Their check sum may be missing, as some programs leave it out, but may not be wrong. */
const inflated = (bytes: Uint8Array, most: number): Uint8Array => {
  try {
    return inflateSync(bytes, { maxOutputLength: most });
  } catch (error) {
    const { code, message } = error as NodeJS.ErrnoException;
    if (code === "Z_BUF_ERROR") {
      try {
        // Ends by itself only where the last block does.
        return inflateRawSync(bytes.subarray(2), { maxOutputLength: most });
      } catch {
        throw new Broken("a stream is cut short");
      }
    }
    throw new Broken(
      code === "ERR_BUFFER_TOO_LARGE" ? "a stream unpacks without end" : `a stream is damaged (${message})`,
    );
  }
};

const numberIn = (dict: PDFDict, key: string, otherwise: number): number => {
  const value = dict.lookup(name(key));
  return value instanceof PDFNumber ? value.asNumber() : otherwise;
};
const predictorOf = (parms: PDFDict): number => numberIn(parms, "Predictor", 1);

/** By the library, which knows predictors, from data that are whole. */
const unpredicted = (plain: Uint8Array, parms: PDFDict): Uint8Array => {
  const predictor = predictorOf(parms);
  const bits = numberIn(parms, "Colors", 1) * numberIn(parms, "BitsPerComponent", 8);
  const row = Math.ceil((numberIn(parms, "Columns", 1) * bits) / 8);
  if (predictor < 10) return plain;
  const step = Math.max(1, bits >> 3);
  const rows = Math.floor(plain.length / (row + 1));
  const data = new Uint8Array(rows * row);
  for (let y = 0; y < rows; y++) {
    const from = y * (row + 1);
    const to = y * row;
    const kind = plain[from] as number;
    if (kind > 4) throw new Broken("a stream has a row with a filter that does not exist");
    for (let x = 0; x < row; x++) {
      const left = x >= step ? (data[to + x - step] as number) : 0;
      const up = y > 0 ? (data[to + x - row] as number) : 0;
      const corner = y > 0 && x >= step ? (data[to + x - row - step] as number) : 0;
      const guess =
        kind === 0 ? 0 : kind === 1 ? left : kind === 2 ? up : kind === 3 ? (left + up) >> 1 : paeth(left, up, corner);
      data[to + x] = (plain[from + 1 + x] as number) + guess;
    }
  }
  return data;
};

const paeth = (left: number, up: number, corner: number): number => {
  const [a, b, c] = [Math.abs(up - corner), Math.abs(left - corner), Math.abs(left + up - 2 * corner)];
  return a <= b && a <= c ? left : b <= c ? up : corner;
};

const byLibrary = (
  bytes: Uint8Array,
  filter: string,
  parms: PDFObject | undefined,
  { context }: PDFDict,
): Uint8Array => {
  const dict = context.obj({ Filter: filter }) as PDFDict;
  if (parms) dict.set(name("DecodeParms"), parms);
  try {
    return decodePDFRawStream(PDFRawStream.of(dict, bytes)).decode();
  } catch (error) {
    throw new Broken(`a stream is damaged (${(error as Error).message.split("\n")[0]})`);
  }
};
