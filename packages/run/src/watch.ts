import type { Openers } from "./outside/openers.ts";
import type { Progress } from "./world.ts";

/** Who watches a run, and may stop it. */
export interface Watch {
  readonly onProgress?: (progress: Progress) => void;
  readonly signal?: AbortSignal;
}

/** A run at work: who watches it, and who opens what comes from outside. */
export interface Work extends Watch {
  readonly openers: Openers;
}

/** Says how far we are, lets the event loop breathe, and ends the run when it was stopped (throws the signal's reason). */
export const checkpoint = async ({ onProgress, signal }: Watch, progress: Progress): Promise<void> => {
  onProgress?.(progress);
  await new Promise<void>((resolve) => void setImmediate(resolve));
  signal?.throwIfAborted();
};
