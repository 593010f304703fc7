import type { Worker } from "node:worker_threads";
import { entryOf, startThread } from "@kitforme/threads";
import type { DrawProof } from "./draw-proof.ts";

/** What the thread answers. */
export type Drawn = { readonly id: number; readonly png: Uint8Array } | { readonly id: number; readonly fault: string };

interface Waiting {
  readonly resolve: (png: Uint8Array) => void;
  readonly reject: (error: Error) => void;
}

/** Draws proofs until it is closed. */
export interface ProofThread {
  readonly draw: DrawProof;
  readonly close: () => Promise<void>;
}

/**
 * A thread beside this one that draws proofs while this one writes the next sheet: half a second a sheet. It starts with
 * the first proof.
 */
export const proofThread = (): ProofThread => {
  const waiting = new Map<number, Waiting>();
  let worker: Worker | undefined;
  let next = 0;
  const fail = (error: Error): void => {
    for (const { reject } of waiting.values()) reject(error);
    waiting.clear();
    worker = undefined;
  };
  const start = (): Worker => {
    const fresh = startThread(entryOf(import.meta.url, "./thread"));
    fresh.on("message", (drawn: Drawn) => {
      const one = waiting.get(drawn.id);
      waiting.delete(drawn.id);
      // An answer to nobody: files of two builds are mixed. Waiting on would be for ever.
      if (!one) fail(new Error("the thread that draws proofs answered a question that was not asked"));
      else if ("png" in drawn) one.resolve(drawn.png);
      else one.reject(new Error(`the proof could not be drawn: ${drawn.fault}`));
    });
    fresh.on("error", (error) => {
      fail(error instanceof Error ? error : new Error(String(error)));
    });
    fresh.on("exit", () => {
      fail(new Error("the thread that draws proofs ended"));
    });
    return fresh;
  };
  return {
    draw: (sheet) =>
      new Promise((resolve, reject) => {
        const id = next++;
        waiting.set(id, { resolve, reject });
        worker ??= start();
        worker.postMessage({ id, sheet });
      }),
    close: async () => {
      await worker?.terminate();
    },
  };
};
