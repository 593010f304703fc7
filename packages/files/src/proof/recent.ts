/** What was used last, so many things of it by name. Two of these that are asked the same in the same order hold the same names. */
export class Recent<T> {
  readonly #most: number;
  readonly #kept = new Map<string, T>();

  constructor(most: number) {
    this.#most = most;
  }

  has(key: string): boolean {
    return this.#kept.has(key);
  }

  /** The thing of this name, by `make` when it is not at hand. */
  of(key: string, make: () => T): T {
    const kept = this.#kept.has(key) ? (this.#kept.get(key) as T) : make();
    // A Map lists its keys by age of insertion: taking out and putting back makes it the youngest.
    this.#kept.delete(key);
    this.#kept.set(key, kept);
    for (const [eldest] of this.#kept) {
      if (this.#kept.size <= this.#most) break;
      this.#kept.delete(eldest);
    }
    return kept;
  }
}
