import { type AnnealOptions, bound, type Contents, type ContentsProblem, rowsOf } from "./contents.ts";
import { Move, propose } from "./contents-move.ts";
import { startOf } from "./contents-start.ts";
import { diceOf } from "./dice.ts";
import { LeastRuns } from "./least-runs.ts";

/**
 * Contents and whole runs with few sheets for a fixed number of layouts, or undefined when the pieces do not fit or nothing is
 * better than asked. Annealing over the contents (swap two places of different layouts, give a place to another piece) with
 * exact runs for every trial; temperatures fall from 5 % to 0.01 % of the least sheets (Teghem, Pirlot, Antoniadis 1995 use
 * the same frame). The limit of a trial is drawn before its runs are computed, so that most losing trials stop half way.
 */
export const annealContents = (problem: ContentsProblem, options: AnnealOptions): Contents | undefined => {
  const state = startOf(problem, options.start);
  if (!state) return undefined;
  const { layouts } = problem;
  const items = problem.demand.length;
  const demand = Float64Array.from(problem.demand);
  const solver = new LeastRuns(layouts, items);
  const dice = diceOf(options.seed);
  let current = solver.relaxed(state.counts, demand);
  let best = options.better ?? Number.POSITIVE_INFINITY;
  let answer: Contents | undefined;
  let nodes = 4000;
  let tried = Number.POSITIVE_INFINITY;
  const keep = (value: number): void => {
    if (!(Math.ceil(value - 1e-7) < best) || (nodes <= 0 && value >= tried - 1e-9)) return;
    tried = Math.min(tried, value);
    nodes -= 40;
    const whole = solver.whole(state.counts, demand, best, 60);
    if (!whole) return;
    best = whole.sum;
    answer = { counts: rowsOf(state.counts, layouts, items), runs: whole.runs, sheets: whole.sum };
  };
  keep(current);
  const scale = bound(problem);
  const hot = 0.05 * scale;
  const cold = 0.0001 * scale;
  const cooling = (cold / hot) ** (1 / Math.max(1, options.iterations));
  let heat = hot;
  const move = new Move();
  for (let k = 0; k < options.iterations; k++, heat *= cooling) {
    if ((k & 4095) === 0 && options.signal?.aborted) break;
    if (!propose(state, problem, dice, move)) continue;
    move.apply(state, problem);
    const limit = current - heat * Math.log(1 - dice.next());
    const value = solver.relaxed(state.counts, demand, limit);
    if (value > limit) {
      move.undo(state, problem);
      continue;
    }
    current = value;
    keep(value);
  }
  return answer;
};
