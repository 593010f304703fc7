/**
 * Pictures packed for print files, so that a piece that lies on many sheets of a job is packed once. Bounded by bytes: what
 * was used longest ago goes first, and is packed anew when it is wanted again.
 */
export class PackedPictures {
  readonly #most: number;
  readonly #kept = new Map<string, Promise<Uint8Array>>();
  readonly #sizes = new Map<string, number>();
  #bytes = 0;

  /** @param most bytes that all together may have. */
  constructor(most = 48 * 2 ** 20) {
    this.#most = most;
  }

  /** The packed bytes of the picture of this name, by `pack` when they are not at hand. */
  async of(id: string, pack: () => Promise<Uint8Array>): Promise<Uint8Array> {
    const before = this.#kept.get(id);
    const now = before ?? pack();
    // A Map lists its keys by age of insertion: taking out and putting back makes it the youngest.
    this.#kept.delete(id);
    this.#kept.set(id, now);
    if (before) return before;
    const bytes = await now;
    this.#sizes.set(id, bytes.length);
    this.#bytes += bytes.length;
    for (const [eldest, size] of [...this.#kept.keys()].map((key) => [key, this.#sizes.get(key)] as const)) {
      if (this.#bytes <= this.#most) break;
      // One that is still being packed has no size yet.
      if (size === undefined) continue;
      this.#kept.delete(eldest);
      this.#sizes.delete(eldest);
      this.#bytes -= size;
    }
    return bytes;
  }
}
