import type { Ledger } from "./ledger.ts";

/** The text of a drawing: UTF-8, or UTF-16 that says so by its byte order mark. Told, when it is neither. */
export const drawingText = (bytes: Uint8Array, report: Ledger): string | undefined => {
  const encoding =
    bytes[0] === 0xff && bytes[1] === 0xfe ? "utf-16le" : bytes[0] === 0xfe && bytes[1] === 0xff ? "utf-16be" : "utf-8";
  try {
    return new TextDecoder(encoding, { fatal: true }).decode(bytes);
  } catch {
    report.say("drawing-broken", {
      what: "it is not Unicode text (UTF-8); perhaps it is compressed or another kind of file",
    });
    return undefined;
  }
};
