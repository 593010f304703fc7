// What every bench of the layout offers to the entry beside it.
import { cpus } from "node:os";

export interface Figure {
  readonly name: string;
  readonly value: number;
  readonly unit: string;
  /** What others reach, and this value over theirs. */
  readonly peer?: number | undefined;
  readonly ratio?: number | undefined;
  readonly goal?: number | undefined;
  readonly met?: boolean | undefined;
}

export interface Options {
  /** CPU seconds of the searching thread, for benches with a clock. */
  readonly seconds: number;
  readonly seed: number;
  readonly seeds: number;
  /** Processes that search the same strip from different seeds; the best counts. */
  readonly cores: number;
  /** The one instance that was asked for, for the processes that search it beside each other. */
  readonly file?: string;
  /** Only instances whose name is listed; empty: all. */
  readonly names: readonly string[];
  readonly say: (line: string) => void;
}

export interface Answer {
  readonly figures: readonly Figure[];
  /** What was laid, in the instance's own units. */
  readonly layout: unknown;
}

export interface Bench {
  readonly name: string;
  /** Whether an instance file is of this bench's form. */
  readonly takes: (instance: Record<string, unknown>) => boolean;
  readonly one: (instance: Record<string, unknown>, options: Options) => Promise<Answer>;
  /** The table: figures, and the names of those that were left out. */
  readonly all: (
    options: Options,
  ) => Promise<{ readonly figures: readonly Figure[]; readonly left: readonly string[] }>;
}

export const machine = (): string =>
  `${cpus()[0]?.model.trim() ?? "unknown"} x${cpus().length}, Node ${process.version}`;

/** CPU seconds this thread's process has used: a busy machine must not make a result worse. */
export const cpuSeconds = (): number => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1e6;
};

export const median = (values: readonly number[]): number => {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  return sorted.length % 2 === 1
    ? (sorted[middle] as number)
    : ((sorted[middle - 1] as number) + (sorted[middle] as number)) / 2;
};
