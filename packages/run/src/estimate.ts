import { type Finding, hasErrors } from "@kitforme/kit";
import type { Effort } from "@kitforme/layout";
import { type Estimate, estimateOf } from "@kitforme/papers";
import { articlesOf } from "./demands-of.ts";
import { layOut } from "./lay-out.ts";
import { type Options, withOpeners } from "./outside/with-openers.ts";
import { type Input, readAll } from "./read-all.ts";
import { sortFindings } from "./sort-findings.ts";
import type { Work } from "./watch.ts";
import type { KitStore } from "./world.ts";

/** How an estimate is made. */
export interface EstimateOptions extends Options {
  /** How long the layout is searched. Default `quick`: a sheet or two more than `normal` on a large job. */
  readonly effort?: Effort;
  readonly threads?: number;
}

/** `estimate` is absent when an error stands among the findings. */
export interface Estimated {
  readonly estimate?: Estimate;
  readonly findings: readonly Finding[];
}

/**
 * What a job would take, without opening a picture or writing a sheet: pieces are laid out by their outlines and their bleed, as
 * `run` lays them, sheets are imposed, and their lengths, lifts and prices are summed. Findings are those of reading alone;
 * `check` looks at pictures and texts.
 *
 * @example
 * const { estimate } = await estimateJob({ shop, orders: [order] }, kitsIn("kits"));
 * console.log(estimate?.sheets, estimate?.price?.total);
 */
export const estimateJob = async (input: Input, kits: KitStore, options: EstimateOptions = {}): Promise<Estimated> =>
  withOpeners(options, (work) => estimateIn(input, kits, options, work));

const estimateIn = async (input: Input, store: KitStore, options: EstimateOptions, work: Work): Promise<Estimated> => {
  const settings = { effort: options.effort ?? "quick", threads: options.threads ?? 2 };
  const read = await readAll(input, store, settings, work);
  if (!read.value || hasErrors(read.findings)) return { findings: sortFindings(read.findings) };
  const { shop, kits, orders, job } = read.value;
  const laid = await layOut(articlesOf(orders, kits), { shop, job, orders }, settings, options, false);
  const findings = sortFindings([...read.findings, ...laid.findings]);
  if (!laid.sheets || hasErrors(findings)) return { findings };
  const names = orders.map(({ order }) => order);
  return { estimate: estimateOf(laid.sheets, names, shop.prices), findings };
};
