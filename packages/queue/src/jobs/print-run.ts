import { randomUUID } from "node:crypto";
import { rm } from "node:fs/promises";
import { join } from "node:path";
import {
  besideFile,
  type Effort,
  type Finding,
  jobFolder,
  type KitStore,
  makeFolder,
  type Named,
  type Options,
  publishFolder,
  run,
  totalsOf,
} from "@kitforme/run";
import type { OrderText } from "../keys.ts";
import { attemptOf } from "../places.ts";
import { blame, findingsFor } from "./blame.ts";
import { patient } from "./patient.ts";
import { kitsOnShare, shopOnShare } from "./share.ts";

/** What one print run needs; plain data. */
export interface PrintRun {
  readonly orders: readonly OrderText[];
  readonly shop: string;
  readonly kits: string;
  readonly out: string;
  readonly effort: Effort;
}

/** How a run ended, order by order. `made` is absent when nothing could be made. */
export interface RunEnd {
  readonly made?: {
    readonly job: string;
    readonly orders: readonly string[];
    readonly findings: readonly Finding[];
    /** Sheets to print, different ones among them, and the part of their area that is pieces. */
    readonly sheets: number;
    readonly layouts: number;
    readonly yield: number;
  };
  readonly refused: readonly { readonly order: string; readonly findings: readonly Finding[] }[];
}

/** How a gang ended: with its job folder, or with the findings that kept it from one. */
export type PrintRunEnd = Omit<RunEnd, "made"> & { readonly made?: RunEnd["made"] & { readonly folder: string } };

export interface RunOptions extends Pick<Options, "onProgress" | "signal" | "openers" | "gang" | "lanes" | "sharing"> {
  /** Given, the disk is waited for: it gets what is wrong, and undefined when that is over. Else environment faults are thrown. */
  readonly onTrouble?: (cause: string | undefined) => void;
}

/**
 * Makes orders into one job folder at `into`. Orders that the findings blame are refused and the others made without them:
 * one order with a wrong name must not keep a night's work from the press. Throws environment faults or a bug of ours.
 */
export const makeInto = async (
  into: string,
  work: {
    readonly orders: readonly OrderText[];
    /** An order as a run takes it, with what lies beside it. */
    readonly named: (order: OrderText) => Named;
    readonly shop: Named;
    readonly kits: KitStore;
    readonly effort: Effort;
  },
  options: RunOptions = {},
): Promise<RunEnd> => {
  const refused: { order: string; findings: readonly Finding[] }[] = [];
  const { onTrouble, ...running } = options;
  const out = onTrouble ? patient(jobFolder(into), onTrouble) : jobFolder(into);
  let left = [...work.orders];
  while (left.length > 0) {
    const outcome = await run(
      { shop: work.shop, orders: left.map(work.named) },
      { kits: work.kits, out: () => out },
      { effort: work.effort, ...running },
    );
    if (outcome.job) {
      const { sheets, layouts, yield: share } = totalsOf(outcome.job);
      const orders = left.map((o) => o.name);
      return {
        made: { job: outcome.job.job, orders, findings: outcome.findings, sheets, layouts, yield: share },
        refused,
      };
    }
    const blamed = blame(left, outcome.findings);
    for (const order of blamed) refused.push({ order: order.name, findings: findingsFor(order, outcome.findings) });
    left = left.filter((order) => !blamed.includes(order));
  }
  return { refused };
};

/** A gang of orders made here and now, without Redis: into an attempt of its own, put into `out` by one rename. */
export const printRun = async (work: PrintRun, options: RunOptions = {}): Promise<PrintRunEnd> => {
  const shop = await shopOnShare(work.shop);
  const named = ({ file, text }: OrderText): Named => ({ file, text, read: besideFile(file) });
  const attempt = attemptOf(work.out, "run", randomUUID());
  try {
    await makeFolder(work.out);
    const end = await makeInto(attempt, { ...work, named, shop, kits: kitsOnShare(work.kits) }, options);
    if (!end.made) return { refused: end.refused };
    const folder = join(work.out, end.made.job);
    await publishFolder(attempt, folder);
    return { refused: end.refused, made: { ...end.made, folder } };
  } finally {
    await rm(attempt, { recursive: true, force: true }).catch(() => undefined);
  }
};
