import { type Finding, hasErrors } from "@kitforme/kit";
import type { Effort } from "@kitforme/layout";
import { type Estimate, estimateOf } from "@kitforme/papers/estimate";
import { articlesOf } from "./demands-of.ts";
import { layOut } from "./lay-out.ts";
import { type Options, withOpeners } from "./outside/with-openers.ts";
import { type Input, readAll, UNNAMED } from "./read-all.ts";
import { sortFindings } from "./sort-findings.ts";
import type { Work } from "./watch.ts";
import type { KitStore } from "./world.ts";

/** How an estimate is made. */
export interface EstimateOptions extends Options {
  /** How long the layout is searched. Default `quick`: a sheet or two more than `normal` on a large job. */
  readonly effort?: Effort;
  readonly threads?: number;
  /**
   * Artwork is opened and words are set, to weigh their ink: seconds more, and within 2 % of what `run` finds of each plate.
   * Default false: then the estimate has no `ink`.
   */
  readonly ink?: boolean;
}

/** `estimate` is absent when an error stands among the findings. */
export interface Estimated {
  readonly estimate?: Estimate;
  readonly findings: readonly Finding[];
}

/** See `estimateJob` of the front door. */
export const estimateJob = async (input: Input, kits: KitStore, options: EstimateOptions = {}): Promise<Estimated> =>
  withOpeners(options, (work) => estimateIn(input, kits, options, work));

const estimateIn = async (input: Input, store: KitStore, options: EstimateOptions, work: Work): Promise<Estimated> => {
  const settings = { effort: options.effort ?? "quick", threads: options.threads ?? 2 };
  const read = await readAll(input, store, { effort: UNNAMED }, work);
  if (!read.value || hasErrors(read.findings)) return { findings: sortFindings(read.findings) };
  const { shop, kits, orders, job } = read.value;
  const articles = articlesOf(orders, kits);
  // Loaded where it is wanted: the libraries of pictures and colours come with it.
  const weigh = options.ink ? (await import("./weigh-pieces.ts")).weighPieces : undefined;
  const weighed = await weigh?.(articles, shop, read.value.pictures, work);
  if (weighed && hasErrors(weighed.findings))
    return { findings: sortFindings([...read.findings, ...weighed.findings]) };
  const laid = await layOut(articles, { shop, job, orders }, settings, work, false, weighed);
  const findings = sortFindings([...read.findings, ...laid.findings]);
  if (!laid.sheets || hasErrors(findings)) return { findings };
  const names = orders.map(({ order }) => order);
  return { estimate: estimateOf(laid.sheets, names, shop.prices), findings };
};
