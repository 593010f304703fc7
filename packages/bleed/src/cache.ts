import { createHash } from "node:crypto";
import type { Outline } from "@kitforme/geometry";

/** What is remembered of one (contour, resolution, source set): who owns it says how many bytes it is. */
export interface Kept {
  readonly bytes: number;
}

/**
 * Index maps of earlier regions, for all requests of a process. Bounded by bytes; what was used longest ago
 * goes first. Holds no pixels: the same contour with another picture still hits.
 */
export class BleedCache {
  readonly #most: number;
  readonly #kept = new Map<string, Kept>();
  readonly #digests = new WeakMap<readonly Outline<"drawing">[], string>();
  #bytes = 0;

  /** @param mostBytes what all maps together may weigh; a region of 200 x 250 mm at 300 ppi weighs about 2 MB. */
  constructor(mostBytes = 64 * 2 ** 20) {
    this.#most = mostBytes;
  }

  /** Bytes held now. */
  get bytes(): number {
    return this.#bytes;
  }

  /** A digest of outlines, worked out once for the same array: requests of one region use it again. */
  digestOf(outlines: readonly Outline<"drawing">[]): string {
    let digest = this.#digests.get(outlines);
    if (digest === undefined) {
      const rings = outlines.flatMap(({ outer, openings }) => [outer, ...openings]);
      digest = hashOf(...rings.map((ring) => Float64Array.from(ring.flatMap(({ x, y }) => [x, y]))));
      this.#digests.set(outlines, digest);
    }
    return digest;
  }

  recall<T extends Kept>(key: string): T | undefined {
    const found = this.#kept.get(key);
    if (!found) return undefined;
    // A Map lists its keys by age of insertion: taking out and putting back makes it the youngest.
    this.#kept.delete(key);
    this.#kept.set(key, found);
    return found as T;
  }

  remember(key: string, kept: Kept): void {
    const old = this.#kept.get(key);
    if (old) {
      this.#bytes -= old.bytes;
      this.#kept.delete(key);
    }
    if (kept.bytes > this.#most) return;
    this.#kept.set(key, kept);
    this.#bytes += kept.bytes;
    for (const [eldest, { bytes }] of this.#kept) {
      if (this.#bytes <= this.#most) break;
      this.#kept.delete(eldest);
      this.#bytes -= bytes;
    }
  }
}

/** A key that two different things never share. */
export const hashOf = (...parts: readonly (ArrayBufferView | string)[]): string => {
  const hash = createHash("sha256");
  for (const part of parts) {
    if (typeof part === "string") hash.update(part);
    else hash.update(new Uint8Array(part.buffer, part.byteOffset, part.byteLength));
    hash.update("|");
  }
  return hash.digest("base64");
};
