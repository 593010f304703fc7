import type { Progress } from "@kitforme/run";

/** Steps of an order's life that a worker does: checked, ganged, claimed for an attempt, the stages of its job, published. */
export type StepName = "check" | "gang" | "claim" | Stage | "publish";

/** Stages of a job: reading, preparing the pieces, searching the layout, writing the sheets. */
export type Stage = "read" | "prepare" | "layout" | "write";

/** The stages of a job, in their sequence. */
export const STAGES: readonly Stage[] = ["read", "prepare", "layout", "write"];

/** A step that a worker has done. Names of orders, gangs and jobs, and numbers: no text of a buyer's. */
export interface Step {
  readonly step: StepName;
  readonly orders: readonly string[];
  readonly gang?: string;
  readonly job?: string;
  /** How long it took. */
  readonly seconds?: number;
  /** Why these orders are made together. */
  readonly why?: string;
  /** Of a check: how many of the orders were refused. */
  readonly refused?: number;
  /** Of a claim: it was taken over from a process that died. */
  readonly takenOver?: boolean;
  /** Of a job: sheets to print, different layouts, and the part of the sheets' area that is pieces. */
  readonly sheets?: number;
  readonly layouts?: number;
  readonly yield?: number;
}

const STAGE_OF: Readonly<Record<Progress["phase"], Stage>> = {
  read: "read",
  prepare: "prepare",
  gang: "layout",
  write: "write",
};

/** Says each stage of a job with its seconds, when the next begins and at the end. */
export const timeStages = (onStage: (stage: Stage, seconds: number) => void) => {
  let stage: Stage | undefined;
  let since = performance.now();
  const end = (): void => {
    if (stage !== undefined) onStage(stage, (performance.now() - since) / 1_000);
    stage = undefined;
    since = performance.now();
  };
  return {
    progress({ phase }: Progress) {
      if (STAGE_OF[phase] === stage) return;
      end();
      stage = STAGE_OF[phase];
    },
    end,
  };
};
