import { STATUS_CODES } from "node:http";
import type { State } from "@kitforme/queue";
import { type Finding, failureOf } from "@kitforme/run";

/** The body of every answer that is no success (RFC 9457). */
export interface ProblemBody {
  readonly type: "about:blank";
  readonly title: string;
  readonly status: number;
  readonly detail: string;
  readonly state?: State;
  readonly findings?: readonly Finding[];
}

/** An answer that is no success: thrown where it is known, written as RFC 9457 has it. */
export class Problem extends Error {
  readonly status: number;
  readonly more: Pick<ProblemBody, "state" | "findings">;
  constructor(status: number, detail: string, more: Pick<ProblemBody, "state" | "findings"> = {}) {
    super(detail);
    this.status = status;
    this.more = more;
  }
}

export const bodyOf = ({ status, message, more }: Problem): ProblemBody => ({
  type: "about:blank",
  title: STATUS_CODES[status] ?? "Problem",
  status,
  detail: message,
  ...more,
});

/** What a Redis client says that has no connection, and one that got no reply in time. */
const AWAY = /^Connection is closed|isn't writeable|^Command timed out|max retries per request/;

/** What was thrown as an answer: a fault of the surroundings is 503 and worth another try, one of ours is 500 and says no more. */
export const problemOf = (error: unknown): Problem => {
  if (error instanceof Problem) return error;
  const { statusCode, message } = (error ?? {}) as { statusCode?: number; message?: string };
  if (statusCode !== undefined && statusCode >= 400 && statusCode < 500)
    return new Problem(statusCode, message ?? "The request is at fault.");
  if (error instanceof Error && AWAY.test(error.message)) return new Problem(503, "Redis is away; try again.");
  if (failureOf(error).kind === "environment")
    return new Problem(503, "Redis or the shop's disk cannot be used now; try again.");
  return new Problem(500, "This server has failed; its log says how.");
};
