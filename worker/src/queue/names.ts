/**
 * Keys of the queue in Redis, all under one prefix:
 *   <prefix>:orders:*   BullMQ's own keys
 *   <prefix>-claims     hash: order name -> Claim (JSON): which batch makes the order, and what its content was
 *   <prefix>-batches    hash: batch id -> Batch (JSON): kept until the batch has an end, so a lost job can be queued again
 *   <prefix>-answers    hash: order name -> Answer (JSON): how the last attempt at the order ended
 *   <prefix>-number     number of the last batch; a batch's id is b1, b2 ... (a letter, since BullMQ refuses whole numbers as ids)
 */
import { createHash } from "node:crypto";
import type { Effort, Finding } from "@kitforme/run";

export const QUEUE = "orders";
export const DEFAULT_PREFIX = "kitforme";

export interface Keys {
  readonly prefix: string;
  readonly claims: string;
  readonly batches: string;
  readonly answers: string;
  readonly number: string;
}

export const keysOf = (prefix: string): Keys => ({
  prefix,
  claims: `${prefix}-claims`,
  batches: `${prefix}-batches`,
  answers: `${prefix}-answers`,
  number: `${prefix}-number`,
});

/** Orders that are ganged together: one submission is one batch is one job folder. */
export interface Batch {
  readonly orders: readonly { readonly name: string; readonly file: string; readonly text: string }[];
  readonly effort: Effort;
}

export interface Claim {
  readonly digest: string;
  readonly batch: string;
}

/** How an order ended. `refused`: the input is at fault, the findings say how; `failed`: we are, or the weather would not clear. */
export type Answer =
  | {
      readonly end: "made";
      readonly batch: string;
      readonly job: string;
      readonly folder: string;
      readonly findings: readonly Finding[];
    }
  | { readonly end: "refused"; readonly batch: string; readonly findings: readonly Finding[] }
  | { readonly end: "failed"; readonly batch: string; readonly reason: string };

/** Digest of an order's content, blind to white space and to the order of keys in its file. */
export const digestOf = (order: unknown): string =>
  createHash("sha256")
    .update(JSON.stringify(sorted(order)))
    .digest("hex")
    .slice(0, 32);

const sorted = (value: unknown): unknown =>
  Array.isArray(value)
    ? value.map(sorted)
    : typeof value === "object" && value !== null
      ? Object.fromEntries(
          Object.entries(value)
            .sort(([a], [b]) => (a < b ? -1 : 1))
            .map(([k, v]) => [k, sorted(v)]),
        )
      : value;
