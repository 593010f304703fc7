/** What a font's own permission bits say about drawing with it for someone else. */
export type Permission = "allowed" | "restricted" | "bitmaps-only" | "unknown";

/**
 * Reads `fsType` of an OS/2 table (OpenType specification, table OS/2). The low four bits are one value, not flags: 0
 * installable, 2 restricted, 4 preview and print, 8 editable. Up to table version 2 several may be set and the least
 * restrictive holds; from version 3 on they exclude each other, so 2 counts wherever it stands. Bit 9 allows bitmaps only,
 * which outlines are not. Bit 8 (no subsetting) says nothing about outlines.
 */
export const permissionOf = (os2: Uint8Array | undefined): Permission => {
  if (!os2 || os2.length < 10) return "unknown";
  const view = new DataView(os2.buffer, os2.byteOffset, os2.byteLength);
  const version = view.getUint16(0);
  const type = view.getUint16(8);
  if (type & 0x0200) return "bitmaps-only";
  const restricted = version <= 2 ? (type & 0x000e) === 0x0002 : (type & 0x0002) !== 0;
  return restricted ? "restricted" : "allowed";
};
