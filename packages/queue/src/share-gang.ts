import { setTimeout as wait } from "node:timers/promises";
import { hashProgram, type SharedStage, type Sharing, type Taken } from "@kitforme/run";
import type { Context } from "./context.ts";
import { script } from "./scripts.ts";

/** Milliseconds after which a Redis that does not answer is done without. */
const PATIENCE = 2_000;

/** A part of a gang as Redis has it: `sheet-12`. */
const nameOf = (stage: SharedStage, number: number): string => `${stage}-${number}`;

/** The stage and the number of a part by its name; undefined for what is none. */
export const partOf = (name: string): { readonly stage: SharedStage; readonly number: number } | undefined => {
  const [, stage, number] = /^(piece|layout|sheet)-(\d+)$/.exec(name) ?? [];
  return stage === undefined ? undefined : { stage: stage as SharedStage, number: Number(number) };
};

/**
 * A gang's parts as they are shared with other processes, for the one who makes it under a claim's token. Who does what is
 * decided in Redis, by scripts that ask for the token. While Redis is away the maker goes on with whatever it knows of nobody
 * to have done: two may do the same part then, to the same bytes.
 */
export const shareGang = (
  { redis, keys }: Context,
  { id, token }: { readonly id: string; readonly token: string },
): Omit<Sharing, "folder" | "turn"> => {
  /** The stage that was offered last, its parts that are neither given to the maker nor known to be done, and how many answers were heard. */
  let now: SharedStage = "piece";
  const left = new Set<number>();
  let heard = 0;
  const timely = async <T>(asked: Promise<T>): Promise<T | undefined> => {
    const late = new AbortController();
    const over = wait(PATIENCE, undefined, { signal: late.signal }).catch(() => undefined);
    const answer = await Promise.race([asked.catch(() => undefined), over]);
    late.abort();
    return answer;
  };
  const give = (number: number | undefined): Taken => {
    if (number !== undefined) left.delete(number);
    return { ...(number === undefined ? {} : { number }), done: [] };
  };
  /** A part's number; undefined for one of an earlier stage, whose list could not be replaced while Redis was away. */
  const numberOf = (name: string): number | undefined => {
    const part = partOf(name);
    return part?.stage === now ? part.number : undefined;
  };
  return {
    async wanted() {
      if (redis.status !== "ready") return false;
      return Number((await timely(script(redis, keys, "idle"))) ?? 0) > 0;
    },
    async offer(stage, numbers) {
      [now, heard] = [stage, 0];
      left.clear();
      for (const number of numbers) left.add(number);
      const same = await hashProgram();
      const names = numbers.map((number) => nameOf(stage, number));
      if (redis.status === "ready") await timely(script(redis, keys, "offer", id, token, same, ...names));
    },
    async take() {
      const [first] = left;
      if (redis.status !== "ready") return give(first);
      const answer = await timely(script(redis, keys, "take", id, token, heard));
      if (answer === undefined) return give(first);
      // The claim is another's: whoever beats for it ends this attempt.
      if ((answer as []).length === 0) return { done: [] };
      const [name, others, ...more] = answer as [string, number, ...string[]];
      const done = more.flatMap((one) => {
        const [what = "", part = ""] = one.split(" ");
        const number = numberOf(what);
        if (number === undefined) return [];
        left.delete(number);
        return [{ number, part }];
      });
      heard += more.length;
      const mine = numberOf(name);
      if (mine !== undefined) return { ...give(mine), done };
      // A part that was given in an answer that never came is nobody's.
      const [lost] = left;
      return { ...(others === 0 ? give(lost) : {}), done };
    },
  };
};
