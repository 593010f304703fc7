import { setTimeout as wait } from "node:timers/promises";
import { checkpoint, type Watch } from "../watch.ts";
import type { Progress } from "../world.ts";
import type { SharedStage, Sharing } from "./sharing.ts";

/** Milliseconds between two looks at what others still do. */
const PAUSE = 60;

/** A stage of a job in parts that are done in any sequence, by whoever is free. */
export interface Stage<T> {
  readonly stage: SharedStage;
  /** Parts by their numbers, in the sequence in which they are begun. */
  readonly numbers: readonly number[];
  /** Parts in hand here at once. */
  readonly lanes: number;
  /** Does one here. */
  readonly here: (number: number) => Promise<T>;
  /** Lays what others need for these parts into the folder. Returns those that are worth offering; the others are done here. */
  readonly lay: (folder: string, numbers: readonly number[]) => Promise<readonly number[]>;
  /** Takes over what another did; undefined when it is not there or not whole. */
  readonly adopt: (folder: string, number: number, part: string) => Promise<T | undefined>;
  readonly progress: (done: number, number: number) => Progress;
}

/** Does all parts of a stage, by itself or together with others. Returns what was made, by the parts' numbers. */
export const shareOut = async <T>(
  { stage, numbers, lanes, here, lay, adopt, progress }: Stage<T>,
  sharing: Sharing | undefined,
  watch: Watch,
): Promise<ReadonlyMap<number, T>> => {
  const done = new Map<number, T>();
  /** Not begun here; once some are offered, those of them that nobody else does. */
  const own = [...numbers];
  let offering: Promise<boolean> | undefined;
  let offered = false;
  let failed = false;
  const offer = async (to: Sharing): Promise<boolean> => {
    const rest = own.splice(0);
    const given = new Set(await lay(to.folder, rest));
    own.push(...rest.filter((number) => !given.has(number)));
    if (given.size > 0) await to.offer(stage, [...given]);
    return given.size > 0;
  };
  const take = async (from: Sharing): Promise<number | undefined> => {
    const taken = await from.take();
    for (const { number, part } of taken.done) {
      if (done.has(number)) continue;
      const made = await adopt(from.folder, number, part);
      if (made === undefined) own.push(number);
      else done.set(number, made);
    }
    return taken.number;
  };
  const next = async (): Promise<number | undefined> => {
    if (sharing && !offering && own.length > 1 && (await sharing.wanted())) offering ??= offer(sharing);
    offered = (await offering) ?? false;
    return own.shift() ?? (sharing && offered ? take(sharing) : undefined);
  };
  const lane = async (): Promise<void> => {
    while (!failed && done.size < numbers.length) {
      const number = await next();
      if (number === undefined) {
        if (!offered) return;
        watch.signal?.throwIfAborted();
        if (done.size < numbers.length) await wait(PAUSE);
        continue;
      }
      if (done.has(number)) continue;
      await checkpoint(watch, progress(done.size, number));
      done.set(number, await here(number));
    }
  };
  const ended = await Promise.allSettled(
    Array.from({ length: Math.min(lanes, numbers.length) }, () =>
      lane().catch((error: unknown) => {
        failed = true;
        throw error;
      }),
    ),
  );
  const fault = ended.find((end) => end.status === "rejected");
  if (fault) throw fault.reason;
  return done;
};
