import type { ObjectStore } from "./store/object-store.ts";

/** How often what was asked for was ready, by cache: kits frozen before, pieces prepared before, threads that had done a job. */
export type CacheLooks = Readonly<
  Record<"frozen" | "prepared" | "threads", { readonly hits: number; readonly misses: number }>
>;

/**
 * What a process that lives long remembers of its folders and stores from one call to the next. Whoever starts such a process
 * makes one and passes it in; a call without one looks at everything itself.
 */
export class HouseMemory {
  /** What a kit's folder must still look like for its last frozen copy to hold, and the id of that copy. */
  readonly frozen = new Map<string, { readonly seen: string; readonly id: string }>();
  /** Out folders whose frozen copies were seen: when they are gone their share is away, and must not be begun anew on another disk. */
  readonly seen = new Set<string>();
  /** Keys of the frozen copies that are known to lie in a store: a kit that a thousand orders need is sent once. */
  readonly sent = new WeakMap<ObjectStore, Set<string>>();
  readonly #looks = {
    frozen: { hits: 0, misses: 0 },
    prepared: { hits: 0, misses: 0 },
    threads: { hits: 0, misses: 0 },
  };

  get looks(): CacheLooks {
    return this.#looks;
  }

  /** Counts so many looks at a cache. */
  count(cache: keyof CacheLooks, hits: number, misses: number): void {
    this.#looks[cache].hits += hits;
    this.#looks[cache].misses += misses;
  }
}
