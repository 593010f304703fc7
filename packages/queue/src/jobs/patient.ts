import { setTimeout as wait } from "node:timers/promises";
import { type Destination, failureOf } from "@kitforme/run";

/** Milliseconds before a file is tried again, and the longest wait; each is twice the last. */
const FIRST_WAIT = 500;
const LAST_WAIT = 15_000;

/**
 * A destination that waits while the disk is full, read-only or away, and then goes on with the same file: a job that has been
 * laid out is not laid out again for that. `onTrouble` gets the cause, and undefined when it is over. Whoever has had
 * enough ends the thread.
 */
export const patient = (out: Destination, onTrouble: (cause: string | undefined) => void): Destination => {
  const insist = async <T>(write: () => Promise<T>): Promise<T> => {
    for (let pause = FIRST_WAIT, troubled = false; ; pause = Math.min(2 * pause, LAST_WAIT)) {
      try {
        const made = await write();
        if (troubled) onTrouble(undefined);
        return made;
      } catch (error) {
        const { kind, message } = failureOf(error);
        if (kind !== "environment") throw error;
        onTrouble(message);
        troubled = true;
        await wait(pause);
      }
    }
  };
  return {
    ...out,
    ...(out.begin
      ? {
          begin: async (name: string) => {
            const file = await insist(async () => out.begin?.(name));
            if (!file) throw new Error("a destination that takes files bit by bit takes them no longer");
            return {
              ...file,
              append: (bytes: Uint8Array) => insist(() => file.append(bytes)),
              keep: () => insist(() => file.keep()),
            };
          },
        }
      : {}),
    open: () => insist(() => out.open()),
    put: (name, bytes) => insist(() => out.put(name, bytes)),
    finish: (name, bytes) => insist(() => out.finish(name, bytes)),
  };
};
