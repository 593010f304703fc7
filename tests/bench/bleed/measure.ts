import { cpus } from "node:os";

/** One line of the table. */
export interface Figure {
  readonly name: string;
  readonly value: number;
  readonly unit: string;
  /** What the peer takes or reaches, in the same unit. */
  readonly peer?: number;
  /** Peer over ours. */
  readonly ratio?: number;
  readonly goal?: string;
  readonly met?: boolean;
}

export interface Measured {
  readonly figures: readonly Figure[];
  /** What could not be measured here, and why. */
  readonly left: readonly string[];
}

export const machine = (): string =>
  `${cpus()[0]?.model.trim() ?? "unknown"}, ${cpus().length} cores, Node ${process.version}`;

export const median = (values: readonly number[]): number =>
  [...values].sort((a, b) => a - b)[values.length >> 1] as number;

/** CPU time of this process in ms, median of some runs: wall time on a busy machine says more of its neighbours. */
export const cpuMs = (times: number, job: () => void): number =>
  median(
    Array.from({ length: times }, () => {
      const before = process.cpuUsage();
      job();
      const { user, system } = process.cpuUsage(before);
      return (user + system) / 1000;
    }),
  );

export const round = (value: number, digits = 3): number => Number(value.toPrecision(digits));

/** Ours against a peer, both in ms. */
export const against = (name: string, ours: number, peer: number, least: number): Figure => ({
  name,
  value: round(ours),
  unit: "ms CPU",
  peer: round(peer),
  ratio: round(peer / ours),
  goal: `>= ${least}x`,
  met: peer / ours >= least,
});

export const atMost = (name: string, value: number, unit: string, most: number, digits = 3): Figure => ({
  name,
  value: round(value, digits),
  unit,
  goal: `<= ${most}`,
  met: value <= most,
});
