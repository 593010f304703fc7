/**
 * The queue in Redis, all under one prefix P (one server, no cluster: the scripts build key names themselves):
 *   P-order:<name>   hash: one order (state, digest, text, times ...); its text is deleted when it is made
 *   P-in:<state>     sorted set: names of the orders in that state, by the time they came into it
 *   P-open           sorted set: names of the orders that have no end yet, by the time they were received
 *   P-answer:<name>  string: Answer (JSON), how the order ended
 *   P-gang:<id>      hash: one gang on its way (orders, frozen shop and kits, token, holder ...)
 *   P-gangs          sorted set: ids of the gangs on their way, by the time they were closed
 *   P-kills:<id>     set: processes that died while they made the gang
 *   P-frozen         hash: content hash of a frozen shop or kit -> number of open orders that need it
 *   P-rules:<hash>   string: the gang rules of a frozen shop (JSON)
 *   P-fence          number: the last claim's token; tokens only grow
 *   P-number         number: the last submission's or gang's
 *   P-clerk          string: the process that decides what is ganged, for some seconds
 *   P-trouble        string: why the queue pauses, as long as it does
 *   P-idle           sorted set: processes that wait for parts of gangs to do, by the time until which they do
 *   P-offers         sorted set: gangs of which others may do parts, by the time they were offered
 *   P-share:<id>     hash: the offer (token of the attempt, versions that give the same bytes)
 *   P-free:<id>      list: parts that nobody has (`sheet-12`); P-own:<id>: parts that only the maker of the gang can do
 *   P-held:<id>      sorted set: parts that others do, by the time until which they must say so again
 *   P-by:<id>        hash: part -> claim of the one who does it
 *   P-written:<id>   list: parts that others have done, each with the name of its file
 *   P-events         stream: every change of an order's state
 *   P:<lane>:*       BullMQ's own keys, a queue per lane
 */
import { createHash } from "node:crypto";
import type { Effort, Finding } from "@kitforme/run";

/** Rush orders, usual gangs and very large ones go in lanes of their own: none of them waits for another kind. */
export const LANES = ["rush", "orders", "large"] as const;
export type Lane = (typeof LANES)[number];

/** Life of an order, in this sequence; the last four are ends. */
export const STATES = [
  "received",
  "checked",
  "waiting",
  "ganged",
  "making",
  "made",
  "refused",
  "failed",
  "cancelled",
] as const;
/** Where an order is in its life. */
export type State = (typeof STATES)[number];
/** States after which nothing happens to an order by itself. */
export const ENDS: readonly State[] = ["made", "refused", "failed", "cancelled"];

/** Names of the queue's keys in Redis. */
export interface Keys {
  readonly prefix: string;
}

/** The keys of the queue whose names begin with a prefix: several queues may share a Redis. */
export const keysOf = (prefix: string): Keys => ({ prefix });

/** An order as it was handed in; `file` is how findings name it. */
export interface OrderText {
  readonly name: string;
  readonly file: string;
  readonly text: string;
  /** The store's id of the pictures that came beside it. */
  readonly pictures?: string;
  /** It prints something made again, and has no text of its own. */
  readonly again?: Again;
}

/** What is printed again of a finished job: one of its orders whole, or spoiled pieces of it. It is an order of its own. */
export interface Again {
  readonly kind: "reprint" | "remake";
  /** The order that was made, and the job that made it. */
  readonly order: string;
  readonly job: string;
  /** What findings call the order's file. */
  readonly file: string;
  /** Places of spoiled pieces, sheet:number, one for each piece. */
  readonly spoiled?: readonly string[];
}

/** Orders that are made together into one job folder. */
export interface Gang {
  readonly id: string;
  readonly orders: readonly string[];
  readonly effort: Effort;
  /** Content hash of the frozen shop. */
  readonly shop: string;
  /** Content hashes of the frozen kits. */
  readonly kits: readonly string[];
  /** The rule that closed it, and in words for people. */
  readonly closed: string;
  readonly why: string;
}

/** How an order ended. `refused`: the input is at fault, the findings say how; `failed`: we are, or it killed what made it. */
export type Answer =
  | {
      readonly end: "made";
      readonly gang: string;
      readonly job: string;
      readonly folder: string;
      readonly findings: readonly Finding[];
    }
  | { readonly end: "refused"; readonly gang: string; readonly findings: readonly Finding[] }
  | { readonly end: "failed"; readonly gang: string; readonly reason: string };

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
