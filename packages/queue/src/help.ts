import { randomUUID } from "node:crypto";
import { setTimeout as wait } from "node:timers/promises";
import type { Context } from "./context.ts";
import { partsOf } from "./places.ts";
import { script } from "./scripts.ts";
import { sameBytes } from "./share-gang.ts";

/** Milliseconds between two looks for sheets, and how long others see that this process waits for some. */
const LOOK = 250;
const SEEN = 1_500;
/** A sheet is another's when nothing is heard of who writes it for so long, and how often it is heard of, ms. */
const LEASE = 4_000;
const BEAT = 1_000;
/** Attempts that this process could not help are remembered, so many. */
const MOST_UNABLE = 50;

export interface Helping {
  /** Ends after the sheets in hand. */
  stop(): Promise<void>;
}

/**
 * Writes sheets of gangs that other processes make, as long as this one has nothing of its own to do. A sheet is claimed under
 * the token of its gang's attempt: of an attempt that is over nothing is written, and nothing that was written counts.
 * @param spare how many jobs this process could do besides
 * @param stop ends at once, whatever is in hand
 */
export const startHelping = (at: Context, spare: () => number, stop: AbortSignal): Helping => {
  const stopped = new AbortController();
  const unable: string[] = [];
  let busy = 0;
  const loop = async (): Promise<void> => {
    while (!stopped.signal.aborted) {
      let helped = false;
      if (spare() > busy && at.redis.status === "ready" && !at.guard.pauses) {
        busy++;
        helped = await helpOnce(at, unable, AbortSignal.any([stop, stopped.signal]), stop).catch(() => false);
        busy--;
      }
      if (!helped) await wait(LOOK, undefined, { signal: stopped.signal }).catch(() => undefined);
    }
  };
  const loops = Array.from({ length: at.settings.concurrency }, loop);
  return {
    async stop() {
      stopped.abort();
      await Promise.all(loops);
    },
  };
};

/** Writes one sheet of somebody's, if there is any. */
const helpOnce = async (
  { redis, keys, settings, threads, holder, events }: Context,
  unable: string[],
  none: AbortSignal,
  stop: AbortSignal,
): Promise<boolean> => {
  const claim = randomUUID();
  const got = await script(redis, keys, "help", holder, SEEN, claim, LEASE, await sameBytes(), ...unable);
  const [gang, token, sheet] = got as [string?, string?, string?];
  if (gang === undefined || token === undefined || sheet === undefined) return false;
  const giveUp = async (): Promise<boolean> =>
    (await script(redis, keys, "giveUp", gang, token, sheet, claim).catch(() => 0)) === 1;
  if (none.aborted) {
    await giveUp();
    return false;
  }
  const away = new AbortController();
  const heart = setInterval(() => {
    if (redis.status !== "ready") return;
    script(redis, keys, "holdSheet", gang, token, sheet, claim, LEASE)
      .then((held) => void (held === 1 || away.abort()))
      .catch(() => undefined);
  }, BEAT);
  try {
    const part = `part-${claim}`;
    await threads.run(
      { kind: "sheet", parts: partsOf(settings.out, gang, token), sheet: Number(sheet), part },
      { signal: AbortSignal.any([stop, away.signal]), onProgress: () => undefined },
    );
    await script(redis, keys, "wrote", gang, token, sheet, claim, part);
    return true;
  } catch (error) {
    // Of an attempt that is over by now nobody wants to hear.
    if (!away.signal.aborted && (await giveUp()) && !stop.aborted) {
      unable.push(token);
      unable.splice(0, unable.length - MOST_UNABLE);
      events.onTrouble?.(gang, new Error(`sheet ${sheet} was left to its maker: ${(error as Error).message}`), true);
    }
    return false;
  } finally {
    clearInterval(heart);
  }
};
