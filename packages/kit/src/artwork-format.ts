import type { Artwork } from "./kit.ts";

type Format = Extract<Artwork, { kind: "file" }>["format"];

const begins = (bytes: Uint8Array, ...start: number[]): boolean => start.every((b, i) => bytes[i] === b);

const ascii = (bytes: Uint8Array, from: number, to: number): string => String.fromCharCode(...bytes.subarray(from, to));

/** What people call a file that is not taken, by its first bytes: with an article, for a sentence. */
export const kindOf = (bytes: Uint8Array): string | undefined => {
  if (ascii(bytes, 0, 4) === "GIF8") return "a GIF";
  if (ascii(bytes, 0, 4) === "8BPS") return "a layered picture (PSD)";
  if (ascii(bytes, 4, 8) === "ftyp") return "a HEIC picture or a film";
  if (begins(bytes, 0x1f, 0x8b)) return "compressed (SVGZ or another gzip file)";
  if (begins(bytes, 0xc5, 0xd0, 0xd3, 0xc6) || ascii(bytes, 0, 4) === "%!PS") return "an EPS or PostScript file";
  if (ascii(bytes, 0, 2) === "BM") return "a BMP";
  if (begins(bytes, 0x50, 0x4b, 3, 4)) return "a ZIP archive";
  return undefined;
};

/** What a picture file is by its first bytes, whatever it is called; undefined for any other. */
export const formatOf = (bytes: Uint8Array): Format | undefined => {
  if (begins(bytes, 0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a)) return "png";
  if (begins(bytes, 0xff, 0xd8, 0xff)) return "jpeg";
  if (begins(bytes, 0x49, 0x49, 0x2a, 0x00) || begins(bytes, 0x4d, 0x4d, 0x00, 0x2a)) return "tiff";
  if (begins(bytes, 0x49, 0x49, 0x2b, 0x00) || begins(bytes, 0x4d, 0x4d, 0x00, 0x2b)) return "tiff";
  if (ascii(bytes, 0, 4) === "RIFF" && ascii(bytes, 8, 12) === "WEBP") return "webp";
  if (ascii(bytes, 4, 8) === "ftyp" && /^avi[fs]/.test(ascii(bytes, 8, 12))) return "avif";
  const head = new TextDecoder("latin1").decode(bytes.subarray(0, 4096));
  // PDF readers accept junk before the header within the first kilobyte (ISO 32000-1, annex H).
  if (head.slice(0, 1024).includes("%PDF-")) return "pdf";
  if (/^(\u00ef\u00bb\u00bf)?\s*</.test(head) && /<([\w-]+:)?svg[\s>]/.test(head)) return "svg";
  return undefined;
};
