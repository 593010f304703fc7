// The marker segments of a JPEG file (ITU-T T.81 annex B): enough to know whether a PDF can show the file as it is.

/** What is known of a JPEG without decoding it. */
export interface JpegFacts {
  readonly width: number;
  readonly height: number;
  readonly components: number;
  /** 8 bits, Huffman coded, baseline, extended or progressive: what DCTDecode of PDF 1.3 and later takes. */
  readonly plain: boolean;
  /** An APP14 "Adobe" marker is there: CMYK values are stored inverted. */
  readonly adobe: boolean;
  /** The end marker is there: a file cut off in its picture data is not. */
  readonly complete: boolean;
  /** The file without metadata, profile and comments; the picture data are the same bytes. */
  readonly bare: Uint8Array;
}

const SOI = 0xd8;
const SOS = 0xda;
const APP0 = 0xe0;
const APP14 = 0xee;
const END = Buffer.from([0xff, 0xd9]);
const COMMENT = 0xfe;
const isFrame = (marker: number): boolean =>
  marker >= 0xc0 && marker <= 0xcf && marker !== 0xc4 && marker !== 0xc8 && marker !== 0xcc;
const isMetadata = (marker: number): boolean =>
  marker === COMMENT || (marker > APP0 && marker <= 0xef && marker !== APP14);

/**
 * Reads the segments up to the first scan. Everything but JFIF and Adobe headers is left out of `bare`: a PDF carries the
 * profile in its colour space and turns nothing by EXIF, and a camera's place and thumbnail do not belong on a sheet.
 */
export const readJpeg = (bytes: Uint8Array): JpegFacts | undefined => {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (bytes.length < 4 || bytes[0] !== 0xff || bytes[1] !== SOI) return undefined;
  const kept: Uint8Array[] = [bytes.subarray(0, 2)];
  let frame: Pick<JpegFacts, "width" | "height" | "components" | "plain"> | undefined;
  let adobe = false;
  let at = 2;
  while (at + 4 <= bytes.length) {
    if (bytes[at] !== 0xff) return undefined;
    const marker = view.getUint8(at + 1);
    // Fill bytes may stand before a marker.
    if (marker === 0xff) {
      at += 1;
      continue;
    }
    if (marker === SOS) {
      if (!frame) return undefined;
      kept.push(bytes.subarray(at));
      const complete = Buffer.from(bytes.buffer, bytes.byteOffset + at, bytes.length - at).includes(END);
      return { ...frame, adobe, complete, bare: Buffer.concat(kept) };
    }
    const length = view.getUint16(at + 2);
    const end = at + 2 + length;
    if (length < 2 || end > bytes.length) return undefined;
    if (isFrame(marker) && length >= 8) {
      const plain = marker <= 0xc2 && view.getUint8(at + 4) === 8;
      const [height, width] = [view.getUint16(at + 5), view.getUint16(at + 7)];
      frame = { width, height, components: view.getUint8(at + 9), plain };
    }
    if (marker === APP14 && Buffer.from(bytes.subarray(at + 4, at + 9)).toString("latin1") === "Adobe") adobe = true;
    if (!isMetadata(marker)) kept.push(bytes.subarray(at, end));
    at = end;
  }
  return undefined;
};
