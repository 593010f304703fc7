import type { Watch, Work } from "../watch.ts";
import { Openers } from "./openers.ts";

export interface Options extends Watch {
  /** Who opens what comes from outside; left out, processes are started for this run and ended with it. */
  readonly openers?: Openers;
}

/** Does some work with the openers it was given, or with its own. */
export const withOpeners = async <T>(options: Options, work: (work: Work) => Promise<T>): Promise<T> => {
  const openers = options.openers ?? new Openers();
  try {
    return await openers.during(() => work({ ...options, openers }));
  } finally {
    if (!options.openers) await openers.close();
  }
};
