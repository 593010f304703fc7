import type { Redis } from "ioredis";
import type { Guard } from "./guard.ts";
import type { HouseMemory } from "./house-memory.ts";
import type { JobThreads } from "./jobs/threads.ts";
import type { Answer, Keys } from "./keys.ts";
import type { Step } from "./step.ts";
import type { ObjectStore } from "./store/object-store.ts";

/** How a worker works: its folders and its bounds. */
export interface WorkSettings {
  readonly shop: string;
  readonly kits: string;
  readonly out: string;
  /** Usual gangs at once in this process; each has a thread of its own. Rush orders and very large gangs have one more each. */
  readonly concurrency: number;
  /** MiB of heap that a job may have; one that needs more fails, with a sentence. Default: what Node gives a thread. */
  readonly memory?: number;
  /** Milliseconds that a running job gets after a stop before it is handed back. */
  readonly grace: number;
  /** Milliseconds after which a job whose worker has died may be taken by another. Default 9,000. */
  readonly lock?: number;
  /** Milliseconds without a new order before a filled gang closes. Default 5,000. */
  readonly settle?: number;
  /** Milliseconds before the second try after an environment fault; each wait is twice the last, up to a minute. Default 2,000. */
  readonly firstWait?: number;
  /** Where prepared pieces are kept for the next job, any worker's, and bytes that they may take; left out, nowhere. */
  readonly cache?: { readonly folder: string; readonly bytes: number };
  /** Where frozen kits and finished jobs are for workers that have no folder in common; left out, the out folder is that. */
  readonly store?: ObjectStore;
  /** Days that orders are remembered after their end; 0 for ever. Default 90. */
  readonly keep?: number;
}

/** What a worker reports while it works. */
export interface WorkEvents {
  readonly onEnd?: (gang: string, answers: ReadonlyMap<string, Answer>) => void;
  /** `again`: it is tried again. */
  readonly onTrouble?: (gang: string | undefined, error: Error, again: boolean) => void;
  /** Work pauses for this cause, or goes on. */
  readonly onPause?: (cause: string | undefined) => void;
  /** A claim was lost to another process: nothing of this attempt counts. */
  readonly onLost?: (gang: string) => void;
  /** A step has been done: one line of a log. */
  readonly onStep?: (step: Step) => void;
}

/** What the parts of a working process share. */
export interface Context {
  readonly redis: Redis;
  readonly keys: Keys;
  readonly settings: WorkSettings;
  readonly events: WorkEvents;
  readonly threads: JobThreads;
  readonly guard: Guard;
  readonly memory: HouseMemory;
  /** Name of this process, new with every start. */
  readonly holder: string;
}
