import { promisify } from "node:util";
import { deflate } from "node:zlib";
import { type PDFContext, type PDFObject, PDFRawStream, type PDFRef, PDFStream } from "../../pdf-lib.ts";

const deflated = promisify(deflate);

/** A deflated stream. */
export const packed = async (
  context: PDFContext,
  bytes: Uint8Array,
  entries: Readonly<Record<string, PDFObject>>,
): Promise<PDFRawStream> => {
  const data = await deflated(bytes, { level: 6 });
  return PDFRawStream.of(context.obj({ ...entries, Filter: "FlateDecode", Length: data.length }), data);
};

/** Other bytes in the place of a stream's, its dictionary kept. */
export const repacked = async (context: PDFContext, ref: PDFRef, bytes: Uint8Array): Promise<PDFRawStream> => {
  const { dict } = context.lookup(ref, PDFStream);
  const stream = await packed(context, bytes, {});
  for (const [key, value] of dict.entries())
    if (!["/Filter", "/DecodeParms", "/Length"].includes(key.toString())) stream.dict.set(key, value);
  return stream;
};
