import { setTimeout as wait } from "node:timers/promises";
import { type Change, newestChange, nextChanges } from "@kitforme/queue";
import type { Context, Redis } from "./settings.ts";

export interface Feed {
  /** Calls with every change from now on, until the function returned is called. */
  listen(onChange: (change: Change) => void): () => void;
  /** How many listen now. */
  readonly listeners: () => number;
  stop(): Promise<void>;
}

/** Reads the queue's changes once for all who listen. `redis` is its own: it waits on it. */
export const startFeed = ({ keys, events }: Context, redis: Redis): Feed => {
  const listeners = new Set<(change: Change) => void>();
  let stopped = false;
  let said = false;
  const read = async (): Promise<void> => {
    let last: string | undefined;
    while (!stopped) {
      try {
        last ??= await newestChange(redis, keys);
        for (const change of await nextChanges(redis, keys, last)) {
          last = change.id;
          for (const tell of listeners) tell(change);
        }
        said = false;
      } catch (error) {
        if (stopped) return;
        if (!said) events.onTrouble?.("the queue's changes", error as Error);
        said = true;
        await wait(500);
      }
    }
  };
  const done = read();
  return {
    listen(onChange) {
      listeners.add(onChange);
      return () => void listeners.delete(onChange);
    },
    listeners: () => listeners.size,
    async stop() {
      stopped = true;
      redis.disconnect();
      await done;
    },
  };
};
