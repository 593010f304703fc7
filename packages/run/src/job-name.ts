import { createHash } from "node:crypto";

/** Twelve signs of Crockford's base 32 (no I, L, O, U to misread), 60 bits of the hash. */
const SIGNS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/**
 * A job's name, from all that decides its bytes: the same input is the same job. Every part is hashed with its length, so
 * that two parts cannot run into one another.
 */
export class JobName {
  readonly #hash = createHash("sha256");

  add(label: string, content: string | Uint8Array): this {
    const bytes = typeof content === "string" ? Buffer.from(content, "utf8") : content;
    this.#hash.update(`${label.length}:${label}${bytes.length}:`).update(bytes);
    return this;
  }

  value(): string {
    const digest = this.#hash.copy().digest();
    let name = "";
    let bits = 0;
    let held = 0;
    for (const byte of digest) {
      held = (held << 8) | byte;
      bits += 8;
      while (bits >= 5 && name.length < 12) {
        bits -= 5;
        name += SIGNS[(held >> bits) & 31];
      }
      held &= (1 << bits) - 1;
    }
    return name;
  }
}
