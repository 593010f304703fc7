import { hashProgram } from "@kitforme/run";
import { randomUUID } from "node:crypto";
import { rm, rmdir } from "node:fs/promises";
import { dirname } from "node:path";
import { setTimeout as wait } from "node:timers/promises";
import type { Context } from "./context.ts";
import { helpedOf, partsOf } from "./places.ts";
import { script } from "./scripts.ts";
import { partOf } from "./share-gang.ts";
import { fetchParts, sendPart } from "./store/parts-in-store.ts";

/** Milliseconds between two looks for parts, and how long others see that this process waits for some. */
const LOOK = 250;
const SEEN = 1_500;
/** A part is another's when nothing is heard of who does it for so long, and how often it is heard of, ms. */
const LEASE = 4_000;
const BEAT = 1_000;
/** Attempts that this process could not help are remembered, so many. */
const MOST_UNABLE = 50;

export interface Helping {
  /** Ends after the parts in hand. */
  stop(): Promise<void>;
}

/**
 * Does parts of gangs that other processes make, as long as this one has nothing of its own to do: prepares pieces, lays out stocks,
 * writes sheets. A part is claimed under the token of its gang's attempt: of an attempt that is over nothing is done, and
 * nothing that was done counts.
 * @param spare how many jobs this process could do besides
 * @param stop ends at once, whatever is in hand
 */
export const startHelping = (at: Context, spare: () => number, stop: AbortSignal): Helping => {
  const stopped = new AbortController();
  const helped: Helped = { unable: [], fetched: new Map() };
  let busy = 0;
  const loop = async (): Promise<void> => {
    while (!stopped.signal.aborted) {
      let did = false;
      if (spare() > busy && at.redis.status === "ready" && !at.guard.pauses) {
        busy++;
        did = await helpOnce(at, helped, AbortSignal.any([stop, stopped.signal]), stop).catch(() => false);
        busy--;
      }
      if (!did) await wait(LOOK, undefined, { signal: stopped.signal }).catch(() => undefined);
    }
  };
  const loops = Array.from({ length: at.settings.concurrency }, loop);
  return {
    async stop() {
      stopped.abort();
      await Promise.all(loops);
      await forget(helped);
    },
  };
};

/** What was helped with. */
interface Helped {
  /** Tokens of attempts that this process could not help. */
  readonly unable: string[];
  /** Folders that were fetched from a store, and parts of each in hand. */
  readonly fetched: Map<string, number>;
}

/** Takes away what was fetched from a store for gangs of which no part is in hand; of one more may come. */
const forget = async ({ fetched }: Helped, but?: string): Promise<void> => {
  for (const [folder, inHand] of fetched) {
    if (inHand > 0 || folder === but) continue;
    fetched.delete(folder);
    await rm(folder, { recursive: true, force: true }).catch(() => undefined);
    await rmdir(dirname(folder)).catch(() => undefined); // another may lie there
  }
};

/** Does one part of somebody's gang, if there is any. */
const helpOnce = async (
  { redis, keys, settings, threads, holder, events }: Context,
  helped: Helped,
  none: AbortSignal,
  stop: AbortSignal,
): Promise<boolean> => {
  const claim = randomUUID();
  const { unable, fetched } = helped;
  const got = await script(redis, keys, "help", holder, SEEN, claim, LEASE, await hashProgram(), ...unable);
  const [gang, token, name] = got as [string?, string?, string?];
  if (gang === undefined || token === undefined || name === undefined) {
    await forget(helped);
    return false;
  }
  const giveUp = async (): Promise<boolean> =>
    (await script(redis, keys, "giveUp", gang, token, name, claim).catch(() => 0)) === 1;
  const what = partOf(name);
  if (none.aborted || !what) {
    await giveUp();
    return false;
  }
  const away = new AbortController();
  const heart = setInterval(() => {
    if (redis.status !== "ready") return;
    script(redis, keys, "holdPart", gang, token, name, claim, LEASE)
      .then((held) => void (held === 1 || away.abort()))
      .catch(() => undefined);
  }, BEAT);
  const { store } = settings;
  const folder = store ? helpedOf(settings.out, holder, gang, token) : partsOf(settings.out, gang, token);
  try {
    const part = `part-${claim}`;
    if (store) {
      fetched.set(folder, (fetched.get(folder) ?? 0) + 1);
      await forget(helped, folder);
      await fetchParts(store, folder);
    }
    await threads.run(
      { kind: "part", parts: folder, ...what, part },
      { signal: AbortSignal.any([stop, away.signal]), onProgress: () => undefined },
    );
    if (store) await sendPart(store, folder, part);
    await script(redis, keys, "wrote", gang, token, name, claim, part);
    return true;
  } catch (error) {
    // Of an attempt that is over by now nobody wants to hear.
    if (!away.signal.aborted && (await giveUp()) && !stop.aborted) {
      unable.push(token);
      unable.splice(0, unable.length - MOST_UNABLE);
      events.onTrouble?.(
        gang,
        new Error(`${what.stage} ${what.number} was left to its maker: ${(error as Error).message}`),
        true,
      );
    }
    return false;
  } finally {
    clearInterval(heart);
    const inHand = fetched.get(folder);
    if (inHand !== undefined) fetched.set(folder, inHand - 1);
  }
};
