// An order taken through the queue's scripts as a clerk and a worker do it, without a job: for what happens afterwards.
import { script, type ScriptName } from "../../packages/queue/src/scripts.ts";
import type { Answer } from "@kitforme/queue";
import type { Bench } from "./queue.ts";

/** Lets received orders be checked, ganged together and answered as made, in a job that is nowhere. */
export const answered = (at: Bench, ...names: readonly string[]): Promise<void> =>
  answer(at, names, (gang) => ({ end: "made", gang, job: "JOB", folder: "JOB", findings: [] }));

/** The same for orders that fail. */
export const failing = (at: Bench, ...names: readonly string[]): Promise<void> =>
  answer(at, names, (gang) => ({ end: "failed", gang, reason: "a bug of ours" }));

const answer = async (
  { redis, keys }: Bench,
  names: readonly string[],
  answerOf: (gang: string) => Answer,
): Promise<void> => {
  const ask = (name: ScriptName, ...args: (string | number)[]) => script(redis, keys, name, ...args);
  await ask("lease", "clerk", 60_000);
  for (const name of names) {
    const call = (await redis.hget(`${keys.prefix}-order:${name}`, "call")) ?? "";
    await ask("accept", "clerk", name, call, "ok", "shop", "kit/tag", "{}");
  }
  const id = (await ask("close", "clerk", "quick", "shop", "kit/tag", "now", "why", "orders", 1, ...names)) as string;
  const [token] = (await ask("begin", id, "worker")) as [string];
  const said = answerOf(id);
  await ask("finish", id, token, ...names.flatMap((name) => [name, said.end, JSON.stringify(said)]));
};
