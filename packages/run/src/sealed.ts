import { createHash } from "node:crypto";

/** Bytes of a SHA-256. */
const SUM = 32;

const sumOf = (bytes: Uint8Array): Buffer => createHash("sha256").update(bytes).digest();

/** Bytes with their hash before them, so that a file that was cut short or damaged is known. */
export const sealed = (bytes: Uint8Array): Uint8Array => Buffer.concat([sumOf(bytes), bytes]);

/** What was sealed; undefined when it is not whole. */
export const unsealed = (bytes: Uint8Array): Uint8Array | undefined => {
  const content = bytes.subarray(SUM);
  return bytes.length > SUM && sumOf(content).equals(bytes.subarray(0, SUM)) ? content : undefined;
};
