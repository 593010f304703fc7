// The thread that draws proofs. A failure goes back as data: an error that crosses threads loses what it was.
import { parentPort } from "node:worker_threads";
import { drawProof, type ProofSheet } from "./draw-proof.ts";
import type { Drawn } from "./proof-thread.ts";

const answer = (drawn: Drawn): void => {
  parentPort?.postMessage(drawn);
};

parentPort?.on("message", ({ id, sheet }: { readonly id: number; readonly sheet: ProofSheet }) => {
  drawProof(sheet).then(
    (png) => {
      answer({ id, png });
    },
    (error: unknown) => {
      answer({ id, fault: error instanceof Error ? error.message : String(error) });
    },
  );
});
