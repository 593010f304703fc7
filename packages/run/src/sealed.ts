import { createHash } from "node:crypto";

/** Bytes of a SHA-256. */
const SUM = 32;

const sumOf = (bytes: Uint8Array): Buffer => createHash("sha256").update(bytes).digest();

/**
 * Bytes with their hash before them, so that a file that was cut short or damaged is known.
 *
 * @example
 * await writeFile("kept", sealed(await readFile("made"))); // whoever reads it knows whether it is whole
 */
export const sealed = (bytes: Uint8Array): Uint8Array => Buffer.concat([sumOf(bytes), bytes]);

/**
 * What was sealed; undefined when it is not whole.
 *
 * @example
 * const bytes = unsealed(await readFile("kept"));
 * if (!bytes) console.log("made again: the file is damaged");
 */
export const unsealed = (bytes: Uint8Array): Uint8Array | undefined => {
  const content = bytes.subarray(SUM);
  return bytes.length > SUM && sumOf(content).equals(bytes.subarray(0, SUM)) ? content : undefined;
};
