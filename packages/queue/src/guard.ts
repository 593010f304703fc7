import type { Redis } from "ioredis";
import { setTimeout as wait } from "node:timers/promises";
import type { Keys } from "./keys.ts";

/** Milliseconds between two looks at what is wrong; each wait is twice the last. */
const FIRST_LOOK = 500;
const LAST_LOOK = 15_000;
/** How long others see a trouble after the last process that met it has said so. */
const SHOWN = 20_000;

/**
 * What keeps this process from working, as long as it does: work pauses, the cause is shown to all, and is looked at again
 * until it is gone. Nothing is given up for it.
 */
export class Guard {
  readonly #redis: Redis;
  readonly #keys: Keys;
  readonly #causes = new Map<string, string>();
  readonly #stopped = new AbortController();
  readonly #onChange: (paused: string | undefined) => void;

  constructor(redis: Redis, keys: Keys, onChange: (paused: string | undefined) => void) {
    this.#redis = redis;
    this.#keys = keys;
    this.#onChange = onChange;
  }

  /** Why work pauses; undefined when it does not. */
  get trouble(): string | undefined {
    return this.#causes.size === 0 ? undefined : [...this.#causes.values()].join("; ");
  }

  /** Whether gangs and checks must pause. A fault of the shop's file stops only new orders: what is ganged has a shop of its own. */
  get pauses(): boolean {
    return [...this.#causes.keys()].some((kind) => kind !== "shop");
  }

  has(kind: string): boolean {
    return this.#causes.has(kind);
  }

  /** Notes a trouble of some kind, and looks until `look` finds it gone (it gives the cause as it stands, or undefined). */
  trip(kind: string, cause: string, look: () => Promise<string | undefined>): void {
    const known = this.#causes.has(kind);
    this.#causes.set(kind, cause);
    if (known) return;
    this.#onChange(this.trouble);
    void this.#watch(kind, look);
  }

  stop(): void {
    this.#stopped.abort();
  }

  async #watch(kind: string, look: () => Promise<string | undefined>): Promise<void> {
    for (let pause = FIRST_LOOK; !this.#stopped.signal.aborted; pause = Math.min(pause * 2, LAST_LOOK)) {
      this.#show();
      await wait(pause, undefined, { signal: this.#stopped.signal }).catch(() => undefined);
      const cause = await look().catch((error: unknown) => String(error));
      if (cause === undefined) break;
      this.#causes.set(kind, cause);
    }
    this.#causes.delete(kind);
    this.#onChange(this.trouble);
    this.#show();
  }

  #show(): void {
    // A Redis that is away or full cannot be told; that is what it then shows.
    if (this.#redis.status !== "ready") return;
    const at = `${this.#keys.prefix}-trouble`;
    const { trouble } = this;
    const said = trouble === undefined ? this.#redis.del(at) : this.#redis.set(at, trouble, "PX", SHOWN);
    void said.catch(() => undefined);
  }
}
