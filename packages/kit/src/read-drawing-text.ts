import { formatOf, kindOf } from "./artwork-format.ts";
import type { Ledger } from "./ledger.ts";

const CALLED = { png: "a PNG", jpeg: "a JPEG", tiff: "a TIFF", webp: "a WebP", avif: "an AVIF", pdf: "a PDF" } as const;

/** What people call a file that is no drawing, where its first bytes say so. */
const namedKind = (bytes: Uint8Array): string | undefined => {
  const format = formatOf(bytes);
  return format && format !== "svg" ? CALLED[format] : kindOf(bytes);
};

/** The text of a drawing: UTF-8, or UTF-16 that says so by its byte order mark. Told, when it is neither. */
export const drawingText = (bytes: Uint8Array, report: Ledger): string | undefined => {
  const kind = bytes[0] === "<".charCodeAt(0) ? undefined : namedKind(bytes);
  if (kind) {
    report.say("drawing-broken", { what: `it is ${kind}; a drawing is plain SVG` });
    return undefined;
  }
  const encoding =
    bytes[0] === 0xff && bytes[1] === 0xfe ? "utf-16le" : bytes[0] === 0xfe && bytes[1] === 0xff ? "utf-16be" : "utf-8";
  try {
    return new TextDecoder(encoding, { fatal: true }).decode(bytes);
  } catch {
    report.say("drawing-broken", {
      what: "it is no Unicode text (UTF-8); perhaps it is another kind of file",
    });
    return undefined;
  }
};
