import { failureOf } from "@kitforme/run/failures";
import { CommanderError } from "commander";
import { EXIT } from "./exit.ts";
import { NoQueue } from "./queue.ts";
import { Stopped } from "./stop.ts";

/** How a command ended; the last line of `--json` says it. */
export type How = "done" | "refused" | "usage" | "interrupted" | "environment" | "failed";

export interface Ending {
  readonly how: How;
  /** The exit code. */
  readonly exit: number;
  /** Why, where it is not done. */
  readonly reason?: string;
  /** Whoever ended it has told people already. */
  readonly spoken?: true;
  /** Where in our code, for whoever looks for the bug. */
  readonly trace?: string;
}

/** Options that do not go together, seen by the command itself. */
export class WrongUsage extends Error {}

const HOW: readonly How[] = ["done", "refused", "usage", "environment"];

/** The end of a command that came back with an exit code: it has said why. */
export const endingOf = (exit: number): Ending => ({ how: HOW[exit] ?? "failed", exit });

/** The end of a command that threw. */
export const endingBy = (error: unknown): Ending => {
  // Help and the version come this way too, with code 0.
  if (error instanceof CommanderError)
    return error.exitCode === 0
      ? endingOf(EXIT.done)
      : { how: "usage", exit: EXIT.usage, reason: error.message.replace(/^error: /, ""), spoken: true };
  if (error instanceof WrongUsage) return { how: "usage", exit: EXIT.usage, reason: error.message };
  if (error instanceof Stopped) return { how: "interrupted", exit: EXIT.ours, reason: error.message };
  if (error instanceof NoQueue) return { how: "environment", exit: EXIT.ours, reason: error.message };
  const { kind, message } = failureOf(error);
  if (kind === "environment" || (error instanceof Error && error.name === "RedisAway"))
    return { how: "environment", exit: EXIT.ours, reason: `kitforme could not go on: ${message}` };
  return {
    how: "failed",
    exit: EXIT.ours,
    reason: `kitforme failed, and the fault is its own: ${message}`,
    ...(error instanceof Error && error.stack !== undefined ? { trace: error.stack } : {}),
  };
};
