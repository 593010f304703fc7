/**
 * Pictures packed for print files, so that a piece that lies on many sheets of a job is packed once. Bounded by bytes: what
 * was used longest ago goes first, and is packed anew when it is wanted again.
 */
export class PackedPictures {
  readonly #most: number;
  readonly #kept = new Map<string, Promise<Uint8Array>>();
  readonly #sizes = new Map<string, number>();
  #bytes = 0;
  #room = NONE;

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

  /**
   * Room for bytes on their way into a picture, for as long as `work` takes; what is in it is whatever was. Kept for the next picture: those
   * of one sheet come to a hundred megabytes, which else lie about until they are collected.
   */
  async within<T>(length: number, work: (room: Uint8Array) => Promise<T>): Promise<T> {
    const lent = this.#room.length >= length ? this.#room : new Uint8Array(length);
    // Whoever comes meanwhile gets another.
    this.#room = NONE;
    try {
      return await work(lent.subarray(0, length));
    } finally {
      if (lent.length > this.#room.length && lent.length <= MOST_ROOM) this.#room = lent;
    }
  }
}

const NONE = new Uint8Array();
/** Larger room is not kept, bytes. */
const MOST_ROOM = 16 * 2 ** 20;
