import { diceOf } from "./dice.ts";
import { exactRectangles } from "./exact-rectangles.ts";
import type { PlacedRectangle, RectanglesPlan, RectanglesRequest } from "./rectangles.ts";
import { copyOf, type CutNode, placesOf, rest } from "./cut-tree.ts";
import { recreate } from "./recreate.ts";
import { ruin } from "./ruin.ts";

/** Steps of the exact table granted per layout that might be rebuilt. */
const EXACT_WORK = 2000;

/**
 * One guillotine layout that holds every job and the shortest run that makes all copies. Runs are tried from the bound upwards
 * as far as they change the places needed. Few sizes with a common measure are solved exactly by a table; all else by ruin and
 * recreate over the tree of cuts: some cuts are forgotten, the
 * rectangles that fell out are put back into the best fitting rests. Undefined when not even one of each found a place.
 */
export const gangRectangles = (request: RectanglesRequest): RectanglesPlan | undefined => {
  const { sheet, jobs } = request;
  const room = sheet.width * sheet.height;
  const area = (run: number): number =>
    jobs.reduce((sum, j) => sum + Math.ceil(j.copies / run) * j.width * j.height, 0);
  const most = jobs.reduce((n, j) => Math.max(n, j.copies), 1);
  if (area(most) > room) return undefined;
  let low = 1;
  let high = most;
  while (low < high) {
    const mid = (low + high) >> 1;
    if (area(mid) <= room) high = mid;
    else low = mid + 1;
  }
  const bound = low;
  const runs = new Set<number>([bound]);
  for (const j of jobs)
    for (let k = 1; k <= Math.ceil(j.copies / bound); k++) {
      const run = Math.ceil(j.copies / k);
      if (run > bound) runs.add(run);
    }
  const sorted = [...runs].sort((a, b) => a - b);
  let left = request.iterations ?? 400_000;
  let best: RectanglesPlan | undefined;
  let open = sorted.length;
  const attempt = (at: number, iterations: number, seed: number): boolean => {
    const run = sorted[at] as number;
    const pieces = jobs.flatMap((j, job) => Array.from({ length: Math.ceil(j.copies / run) }, () => job));
    const { placed, used } = layRectangles(request, pieces, iterations, seed);
    left -= used;
    if (!placed) return false;
    best = { run, placed, bound, proven: run === bound };
    open = at;
    return true;
  };
  const places = (run: number): number[] => jobs.map((j) => Math.ceil(j.copies / run));
  const exact = exactRectangles(request, sorted.map(places), Math.min(left, 4_000_000) * EXACT_WORK);
  if (exact === "none") return undefined;
  if (exact) return { run: sorted[exact.at] as number, placed: exact.placed, bound, proven: true };
  // A quick pass from the easy end gives a plan; then all effort from the hard end.
  const seed = request.seed ?? 1;
  for (let at = 0; at < sorted.length && !best; at++) attempt(at, 2_000, seed);
  if (!best && !attempt(sorted.length - 1, 20_000, seed)) return undefined;
  for (let round = 1; left > 0 && open > 0 && !request.signal?.aborted; round++)
    for (let at = 0; at < open && at < 3 && left > 0; at++)
      attempt(at, Math.min(left, Math.round((10_000 * Math.min(round, 8)) / (1 + at))), seed + 7919 * round + at);
  return best;
};

const layRectangles = (
  request: RectanglesRequest,
  pieces: readonly number[],
  iterations: number,
  seed: number,
): { placed: PlacedRectangle[] | undefined; used: number } => {
  const { sheet, jobs, turns, signal } = request;
  const dice = diceOf(seed);
  const areaOf = (job: number): number => {
    const j = jobs[job] as (typeof jobs)[number];
    return j.width * j.height;
  };
  const room = sheet.width * sheet.height;
  let tree = rest(sheet.width, sheet.height);
  let out = recreate(tree, [...pieces], request, turns, dice);
  let value = valueOf(tree, out, areaOf, room);
  const hot = 0.02;
  const cold = 0.0004;
  for (let k = 0; k < iterations; k++) {
    if (out.length === 0) return { placed: placesOf(tree), used: k };
    if ((k & 1023) === 0 && signal?.aborted) return { placed: undefined, used: k };
    const trial = copyOf(tree);
    const loose = [...out];
    ruin(trial, loose, dice, 1 + dice.below(k & 7 ? 6 : 16));
    const missing = recreate(trial, loose, request, turns, dice);
    const next = valueOf(trial, missing, areaOf, room);
    const heat = hot * (cold / hot) ** (k / iterations);
    if (next <= value - heat * Math.log(1 - dice.next())) {
      tree = trial;
      out = missing;
      value = next;
    }
  }
  return { placed: out.length === 0 ? placesOf(tree) : undefined, used: iterations };
};

/** Share of the sheet left out, less a little for rests that are large: one large rest takes a piece, ten strips do not. */
const valueOf = (tree: CutNode, out: readonly number[], areaOf: (job: number) => number, room: number): number => {
  let squares = 0;
  const walk = (n: CutNode): void => {
    if (n.kids) n.kids.forEach(walk);
    else if (n.job < 0) squares += (n.w * n.h) ** 2;
  };
  walk(tree);
  return out.reduce((sum, job) => sum + areaOf(job), 0) / room - 0.5 * (squares / room / room) ** 0.5;
};
