import { constants, inflateSync } from "node:zlib";
import { decodePDFRawStream, PDFName, type PDFRawStream } from "pdf-lib";

/** A content stream longer than this is no content stream: a page with a million curves has 40 MB. */
const MOST = 2 ** 26;

/** The bytes of a content stream. Throws when they cannot be had, or when a small stream would grow without end. */
export const unpack = (stream: PDFRawStream): Uint8Array => {
  const { dict } = stream;
  const plain = dict.lookup(PDFName.of("Filter")) === PDFName.of("FlateDecode") && !dict.has(PDFName.of("DecodeParms"));
  if (!plain) return decodePDFRawStream(stream).decode();
  // Streams that were cut short of their check sum are common and harmless.
  return inflateSync(stream.getContents(), { maxOutputLength: MOST, finishFlush: constants.Z_SYNC_FLUSH });
};
