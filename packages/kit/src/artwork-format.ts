import type { Artwork } from "./kit.ts";

type Format = Extract<Artwork, { kind: "file" }>["format"];

const begins = (bytes: Uint8Array, ...start: number[]): boolean => start.every((b, i) => bytes[i] === b);

/** What a picture file is by its first bytes, whatever it is called; undefined for any other. */
export const formatOf = (bytes: Uint8Array): Format | undefined => {
  if (begins(bytes, 0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a)) return "png";
  if (begins(bytes, 0xff, 0xd8, 0xff)) return "jpeg";
  if (begins(bytes, 0x49, 0x49, 0x2a, 0x00) || begins(bytes, 0x4d, 0x4d, 0x00, 0x2a)) return "tiff";
  if (begins(bytes, 0x49, 0x49, 0x2b, 0x00) || begins(bytes, 0x4d, 0x4d, 0x00, 0x2b)) return "tiff";
  const head = new TextDecoder("latin1").decode(bytes.subarray(0, 4096));
  // PDF readers accept junk before the header within the first kilobyte (ISO 32000-1, annex H).
  if (head.slice(0, 1024).includes("%PDF-")) return "pdf";
  if (/^(\u00ef\u00bb\u00bf)?\s*</.test(head) && /<([\w-]+:)?svg[\s>]/.test(head)) return "svg";
  return undefined;
};
