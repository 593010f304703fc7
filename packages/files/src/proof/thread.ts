// A thread that draws print PDFs: proofs, and regions of pages. A failure goes back as data: an error that crosses threads loses what it was.
import { parentPort } from "node:worker_threads";
import { type PageRegions, renderRegions } from "@kitforme/prepress";
import { ProofDrawer } from "./draw-proof.ts";
import type { Answer, Question } from "./drawing-threads.ts";

const drawer = new ProofDrawer();

const answer = (given: Answer, pixels: readonly Uint8Array[]): void => {
  parentPort?.postMessage(
    given,
    pixels.flatMap(({ buffer }) => (buffer instanceof ArrayBuffer ? [buffer] : [])),
  );
};

const work = async (question: Question): Promise<readonly [unknown, readonly Uint8Array[]]> => {
  if ("sheet" in question) {
    const png = await drawer.draw(question.sheet);
    // Small buffers are parts of a common pool and cannot be given away.
    return [png, []];
  }
  const seen: PageRegions = await renderRegions(...question.look);
  return [seen, seen.rasters.map(({ data }) => data)];
};

parentPort?.on("message", (question: Question) => {
  work(question).then(
    ([value, pixels]) => {
      answer({ id: question.id, value }, pixels);
    },
    (error: unknown) => {
      answer({ id: question.id, fault: error instanceof Error ? error.message : String(error) }, []);
    },
  );
});
