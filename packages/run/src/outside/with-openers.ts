import type { Watch, Work } from "../watch.ts";
import type { Progress } from "../world.ts";
import { Openers } from "./openers.ts";

export interface Options extends Watch {
  /** Who opens what comes from outside; left out, processes are started for this run and ended with it. */
  readonly openers?: Openers;
  /** Openers of this run alone, started before it; they end with it like its own. Of no use beside `openers`. */
  readonly ahead?: Openers;
}

/** Does some work with the openers it was given, or with its own. What progress says is said once, not again while it stands. */
export const withOpeners = async <T>(options: Options, work: (work: Work) => Promise<T>): Promise<T> => {
  const openers = options.openers ?? options.ahead ?? new Openers();
  try {
    return await openers.during(() => work({ ...options, ...onceEach(options), openers }));
  } finally {
    if (!options.openers) await openers.close();
  }
};

const onceEach = ({ onProgress }: Watch): Watch => {
  if (!onProgress) return {};
  let last: Progress | undefined;
  return {
    onProgress(now) {
      const { phase, done, of, what } = last ?? {};
      if (now.phase !== phase || now.done !== done || now.of !== of || now.what !== what) onProgress(now);
      last = now;
    },
  };
};
