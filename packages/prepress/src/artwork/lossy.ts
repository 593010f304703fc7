// Pictures packed with losses smear their edges, whatever file they come in: the bleed picks up colour deeper inside.

/** Compressions 6 and 7 are JPEG (TIFF 6.0, section 22, and its Technical Note 2, from memory). */
const COMPRESSION = 259;

/** Whether the pixels of a picture may have been packed with losses. */
export const isLossy = (format: string, bytes: Uint8Array): boolean => {
  if (format === "webp") return Buffer.from(bytes.subarray(12, 16)).toString("latin1") !== "VP8L";
  return format === "jpeg" || format === "heif" || (format === "tiff" && [6, 7].includes(compressionOf(bytes)));
};

/** The compression that the first directory of a TIFF names; 0 where it names none. */
const compressionOf = (bytes: Uint8Array): number => {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const little = bytes[0] === 0x49;
  const at = view.byteLength < 8 ? view.byteLength : view.getUint32(4, little);
  if (at + 2 > view.byteLength) return 0;
  const entries = view.getUint16(at, little);
  for (let entry = at + 2, n = 0; n < entries && entry + 12 <= view.byteLength; n++, entry += 12)
    if (view.getUint16(entry, little) === COMPRESSION) return view.getUint16(entry + 8, little);
  return 0;
};
