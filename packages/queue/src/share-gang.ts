import { setTimeout as wait } from "node:timers/promises";
import { type Sharing, type Taken, versions } from "@kitforme/run";
import type { Context } from "./context.ts";
import { script } from "./scripts.ts";

/** What gives the same bytes: sheets of a gang are written only by processes that have the same. */
export const sameBytes = async (): Promise<string> => JSON.stringify([await versions(), process.version, process.arch]);
/** Milliseconds after which a Redis that does not answer is done without. */
const PATIENCE = 2_000;

/**
 * A gang's sheets as they are shared with other processes, for the one who makes it under a claim's token. Who writes what is
 * decided in Redis, by scripts that ask for the token. While Redis is away the maker goes on with whatever it knows of nobody
 * to have written: two may write the same sheet then, to the same bytes.
 */
export const shareGang = (
  { redis, keys }: Context,
  { id, token }: { readonly id: string; readonly token: string },
): Omit<Sharing, "folder"> => {
  /** Offered sheets that are neither given to the maker nor known to be written. */
  const left = new Set<number>();
  let heard = 0;
  const timely = async <T>(asked: Promise<T>): Promise<T | undefined> => {
    const late = new AbortController();
    const over = wait(PATIENCE, undefined, { signal: late.signal }).catch(() => undefined);
    const answer = await Promise.race([asked.catch(() => undefined), over]);
    late.abort();
    return answer;
  };
  const give = (sheet: number | undefined): Taken => {
    if (sheet !== undefined) left.delete(sheet);
    return { ...(sheet === undefined ? {} : { sheet }), written: [] };
  };
  return {
    async wanted() {
      if (redis.status !== "ready") return false;
      return Number((await timely(script(redis, keys, "idle"))) ?? 0) > 0;
    },
    async offer(sheets) {
      for (const sheet of sheets) left.add(sheet);
      const same = await sameBytes();
      if (redis.status === "ready") await timely(script(redis, keys, "offer", id, token, same, ...sheets));
    },
    async take() {
      const [first] = left;
      if (redis.status !== "ready") return give(first);
      const answer = await timely(script(redis, keys, "take", id, token, heard));
      if (answer === undefined) return give(first);
      // The claim is another's: whoever beats for it ends this attempt.
      if ((answer as []).length === 0) return { written: [] };
      const [sheet, others, ...more] = answer as [string, number, ...string[]];
      const written = more.map((one) => {
        const [number = "", part = ""] = one.split(" ");
        left.delete(Number(number));
        return { sheet: Number(number), part };
      });
      heard += more.length;
      if (sheet !== "") return { ...give(Number(sheet)), written };
      // A sheet that was given in an answer that never came is nobody's.
      const [lost] = left;
      return { ...(others === 0 ? give(lost) : {}), written };
    },
  };
};
