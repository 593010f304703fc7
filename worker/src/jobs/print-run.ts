import { join } from "node:path";
import { kitsNamedIn } from "@kitforme/kit";
import { type Effort, type Finding, hasErrors, jobFolder, type Options, run } from "@kitforme/run";
import { kitsOnShare, shopOnShare } from "./share.ts";

/** What one print run needs; plain data, so that it can cross to a thread. */
export interface PrintRun {
  readonly orders: readonly { readonly name: string; readonly file: string; readonly text: string }[];
  readonly shop: string;
  readonly kits: string;
  readonly out: string;
  readonly effort: Effort;
}

/** How it ended, order by order. `made` is absent when nothing could be made. */
export interface PrintRunEnd {
  readonly made?: {
    readonly job: string;
    readonly folder: string;
    readonly orders: readonly string[];
    readonly findings: readonly Finding[];
  };
  readonly refused: readonly { readonly order: string; readonly findings: readonly Finding[] }[];
}

/**
 * Makes a batch of orders into one job folder. Orders that the findings blame are refused and the others made without
 * them: one order with a wrong name must not keep a night's work from the press. Needs no Redis. Throws weather of the
 * disk (`share.ts` says what that is) or a bug of ours.
 */
export const printRun = async (
  { orders, shop, kits, out, effort }: PrintRun,
  options: Pick<Options, "onProgress" | "signal" | "openers"> = {},
): Promise<PrintRunEnd> => {
  const refused: { order: string; findings: readonly Finding[] }[] = [];
  const read = await shopOnShare(shop);
  if ("finding" in read) return { refused: orders.map(({ name }) => ({ order: name, findings: [read.finding] })) };
  let left = [...orders];
  while (left.length > 0) {
    const outcome = await run(
      { shop: read, orders: left.map(({ file, text }) => ({ file, text })) },
      { kits: kitsOnShare(kits), out: (job) => jobFolder(join(out, job)) },
      { effort, ...options },
    );
    if (outcome.job)
      return {
        made: {
          job: outcome.job.job,
          folder: join(out, outcome.job.job),
          orders: left.map((o) => o.name),
          findings: outcome.findings,
        },
        refused,
      };
    const blamed = blame(left, outcome.findings);
    for (const order of blamed) refused.push({ order: order.name, findings: of(order, outcome.findings) });
    left = left.filter((order) => !blamed.includes(order));
  }
  return { refused };
};

type Ordered = PrintRun["orders"][number];

const isAbout = (order: Ordered, { where }: Finding): boolean =>
  where.order !== undefined
    ? where.order === order.name
    : where.kit !== undefined
      ? kitsNamedIn(order.text).includes(where.kit)
      : where.file === undefined || where.file === order.file;

/** Orders that an error speaks of; all of them when no error speaks of any (the shop's own file, say). */
const blame = (orders: readonly Ordered[], findings: readonly Finding[]): readonly Ordered[] => {
  if (!hasErrors(findings)) throw new Error("a run ended with neither a job nor an error");
  const errors = findings.filter((f) => f.level === "error");
  const blamed = orders.filter((order) => errors.some((f) => isAbout(order, f)));
  return blamed.length > 0 ? blamed : orders;
};

const of = (order: Ordered, findings: readonly Finding[]): readonly Finding[] => {
  const about = findings.filter((f) => isAbout(order, f));
  return about.length > 0 ? about : findings;
};
