export * from "./cautions.ts";
export * from "./cut/index.ts";
export * from "./docket.ts";
export * from "./job.ts";
export * from "./manifest.ts";
export * from "./print.ts";
export * from "./proof.ts";
export { drawProof } from "./proof/draw-proof.ts";
export { proofThread, type ProofThread } from "./proof/proof-thread.ts";
