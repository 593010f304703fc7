import { availableParallelism } from "node:os";
import type { Worker } from "node:worker_threads";
import { renderRegions } from "@kitforme/prepress";
import { entryOf, startThread } from "@kitforme/threads";
import { type DrawProof, type Named, ProofDrawer, type ProofSheet, REMEMBERED } from "./draw-proof.ts";
import { Recent } from "./recent.ts";

/** Draws regions of a page of a print PDF. */
export type Look = typeof renderRegions;

/** What a thread is asked. */
export type Question = { readonly id: number } & ({ readonly sheet: ProofSheet } | { readonly look: Parameters<Look> });

/** What it answers. */
export type Answer = { readonly id: number; readonly value: unknown } | { readonly id: number; readonly fault: string };

interface Waiting {
  readonly resolve: (value: unknown) => void;
  readonly reject: (error: Error) => void;
}

/** Draws print PDFs in threads of their own until it is closed. */
export interface DrawingThreads {
  readonly draw: DrawProof;
  readonly look: Look;
  readonly close: () => Promise<void>;
}

/** Processors from which a second thread has one of its own beside this thread and the first: its 150 MB are no gain before. */
const ROOM = 3;
/** A further thread is worth its start when those that run have each so many questions. */
const BUSY = 2;

/** One thread, what it was asked, and the names that it remembers. */
class Drawing {
  readonly waiting = new Map<number, Waiting>();
  readonly #artwork = new Recent<true>(REMEMBERED);
  readonly #over = new Recent<true>(REMEMBERED);
  #worker: Worker | undefined;
  #ended: Error | undefined;
  #next = 0;

  ask(question: { readonly sheet: ProofSheet } | { readonly look: Parameters<Look> }): Promise<unknown> {
    if (this.#ended) return Promise.reject(this.#ended);
    return new Promise((resolve, reject) => {
      const id = this.#next++;
      this.waiting.set(id, { resolve, reject });
      this.#worker ??= this.#start();
      this.#worker.postMessage("sheet" in question ? { id, sheet: this.#brief(question.sheet) } : { id, ...question });
    });
  }

  async close(): Promise<void> {
    await this.#worker?.terminate();
  }

  /** A sheet without what the thread remembers. */
  #brief(sheet: ProofSheet): ProofSheet {
    const { printed, width } = sheet;
    const over = brief(sheet.over, this.#over, width);
    if (printed?.kind !== "shared") return { ...sheet, over };
    return { ...sheet, over, printed: { ...printed, artwork: brief(printed.artwork, this.#artwork, width) } };
  }

  #start(): Worker {
    const fresh = startThread(entryOf(import.meta.url, "./thread"));
    fresh.on("message", (given: Answer) => {
      const one = this.waiting.get(given.id);
      this.waiting.delete(given.id);
      // An answer to nobody: files of two builds are mixed. Waiting on would be for ever.
      if (!one) this.#fail(new Error("a thread that draws answered a question that was not asked"));
      else if ("value" in given) one.resolve(given.value);
      else one.reject(new Error(`a print PDF could not be drawn: ${given.fault}`));
    });
    fresh.on("error", (error) => {
      this.#fail(error instanceof Error ? error : new Error(String(error)));
    });
    fresh.on("exit", () => {
      this.#fail(new Error("a thread that draws ended"));
    });
    return fresh;
  }

  #fail(error: Error): void {
    this.#ended ??= error;
    for (const { reject } of this.waiting.values()) reject(error);
    this.waiting.clear();
  }
}

const brief = <T>(named: Named<T>, known: Recent<true>, width: number): Named<T> => {
  const key = `${width} ${named.key}`;
  const there = known.has(key);
  known.of(key, () => true);
  return there ? { ...named, from: null } : named;
};

/**
 * Threads beside this one that draw print PDFs while this one writes the next sheet. Each starts when it is needed.
 *
 * @param most threads at the same time; what is drawn does not depend on it
 */
export const drawingThreads = (most = availableParallelism() < ROOM ? 1 : 2): DrawingThreads => {
  const threads: Drawing[] = [];
  const ask = (question: Parameters<Drawing["ask"]>[0]): Promise<unknown> => {
    const least = Math.min(...threads.map(({ waiting }) => waiting.size));
    if (threads.length === 0 || (threads.length < most && least >= BUSY)) threads.push(new Drawing());
    const idlest = threads.reduce((a, b) => (b.waiting.size < a.waiting.size ? b : a));
    return idlest.ask(question);
  };
  return {
    draw: async (sheet) => (await ask({ sheet })) as Uint8Array,
    look: async (...look) => (await ask({ look })) as Awaited<ReturnType<Look>>,
    close: async () => {
      await Promise.all(threads.map((thread) => thread.close()));
    },
  };
};

/** The same without a thread: drawn by whoever asks. */
export const drawingHere = (): DrawingThreads => {
  const drawer = new ProofDrawer();
  return { draw: (sheet) => drawer.draw(sheet), look: renderRegions, close: () => Promise.resolve() };
};
