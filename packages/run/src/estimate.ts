import { grow } from "@kitforme/geometry";
import { type Finding, hasErrors, type Piece, type Shop } from "@kitforme/kit";
import type { Effort } from "@kitforme/layout";
import { type Estimate, estimateOf } from "@kitforme/papers";
import type { PreparedPiece } from "@kitforme/prepress";
import { articlesOf } from "./demands-of.ts";
import { gangAll } from "./gang-all.ts";
import { imposeAll } from "./impose-all.ts";
import { type Options, withOpeners } from "./outside/with-openers.ts";
import { nameOf } from "./prepare-all.ts";
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

const estimateIn = async (input: Input, kits: KitStore, options: EstimateOptions, work: Work): Promise<Estimated> => {
  const settings = { effort: options.effort ?? "quick", threads: options.threads ?? 2 };
  const read = await readAll(input, kits, settings, work);
  if (!read.value || hasErrors(read.findings)) return { findings: sortFindings(read.findings) };
  const { shop, orders, job } = read.value;
  const articles = articlesOf(orders, read.value.kits);
  const pieces = new Map(articles.map(({ piece }) => [nameOf(piece), outlined(piece, shop)]));
  const ready = { pieces, texts: new Map(), pictures: new Map(), findings: [] };
  const ganged = await gangAll(articles, ready, shop, settings, options);
  const findings = sortFindings([...read.findings, ...ganged.findings]);
  if (hasErrors(findings)) return { findings };
  // Nothing is written: of this step only the signal is wanted.
  const { signal } = options;
  const sheets = await imposeAll(job, ganged.plans, ready, signal ? { signal } : {}, false);
  const names = orders.map(({ order }) => order);
  return { estimate: estimateOf(sheets, names, shop.prices), findings };
};

/** A piece by its outlines and the room that its bleed will take. */
const outlined = (piece: Piece, shop: Shop): PreparedPiece => {
  const press = shop.stocks[piece.stock]?.press;
  const reach =
    press && (piece.artwork ?? piece.back?.artwork) ? grow(piece.parts, piece.bleed ?? press.bleed) : piece.parts;
  return { piece, reach, layers: [], bleed: null };
};
