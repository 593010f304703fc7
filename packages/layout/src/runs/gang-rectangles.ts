import { type Dice, diceOf } from "./dice.ts";
import { exactRectangles } from "./exact-rectangles.ts";
import type { LaidRectangle, RectanglesPlan, RectanglesRequest } from "./rectangles.ts";

/** Steps of the exact table granted per layout that might be rebuilt. */
const EXACT_WORK = 2000;

/**
 * One guillotine layout that holds every job and the shortest run that makes all copies. Runs are tried from the bound upwards
 * as far as they change the places needed. Few sizes with a common measure are solved exactly by a table; all else by ruin and
 * recreate over the tree of cuts: some cuts are forgotten, the
 * rectangles that fell out are put back into the best fitting rests. Undefined when not even one of each was laid.
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
    const { laid, used } = layRectangles(request, pieces, iterations, seed);
    left -= used;
    if (!laid) return false;
    best = { run, laid, bound, proven: run === bound };
    open = at;
    return true;
  };
  const places = (run: number): number[] => jobs.map((j) => Math.ceil(j.copies / run));
  const exact = exactRectangles(request, sorted.map(places), Math.min(left, 4_000_000) * EXACT_WORK);
  if (exact === "none") return undefined;
  if (exact) return { run: sorted[exact.at] as number, laid: exact.laid, bound, proven: true };
  // A quick pass from the easy end gives a plan; then all effort from the hard end.
  const seed = request.seed ?? 1;
  for (let at = 0; at < sorted.length && !best; at++) attempt(at, 2_000, seed);
  if (!best && !attempt(sorted.length - 1, 20_000, seed)) return undefined;
  for (let round = 1; left > 0 && open > 0 && !request.signal?.aborted; round++)
    for (let at = 0; at < open && at < 3 && left > 0; at++)
      attempt(at, Math.min(left, Math.round((10_000 * Math.min(round, 8)) / (1 + at))), seed + 7919 * round + at);
  return best;
};

interface Node {
  w: number;
  h: number;
  /** A job, or -1. */
  job: number;
  /** Kids side by side (true) or one above another (false). */
  across: boolean;
  kids: Node[] | undefined;
}

const rest = (w: number, h: number): Node => ({ w, h, job: -1, across: true, kids: undefined });

const copyOf = (n: Node): Node => ({
  w: n.w,
  h: n.h,
  job: n.job,
  across: n.across,
  kids: n.kids?.map(copyOf),
});

const layRectangles = (
  request: RectanglesRequest,
  pieces: readonly number[],
  iterations: number,
  seed: number,
): { laid: LaidRectangle[] | undefined; used: number } => {
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
    if (out.length === 0) return { laid: placesOf(tree), used: k };
    if ((k & 1023) === 0 && signal?.aborted) return { laid: undefined, used: k };
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
  return { laid: out.length === 0 ? placesOf(tree) : undefined, used: iterations };
};

/** Share of the sheet left out, less a little for rests that are large: one large rest takes a piece, ten strips do not. */
const valueOf = (tree: Node, out: readonly number[], areaOf: (job: number) => number, room: number): number => {
  let squares = 0;
  const walk = (n: Node): void => {
    if (n.kids) n.kids.forEach(walk);
    else if (n.job < 0) squares += (n.w * n.h) ** 2;
  };
  walk(tree);
  return out.reduce((sum, job) => sum + areaOf(job), 0) / room - 0.5 * (squares / room / room) ** 0.5;
};

/** Takes out about `count` pieces: whole branches of the tree, so that larger rests come about. */
const ruin = (tree: Node, loose: number[], dice: Dice, count: number): void => {
  const goal = loose.length + count;
  while (loose.length < goal && (tree.kids || tree.job >= 0)) {
    // A random way down, the deeper the smaller the branch.
    let node = tree;
    let parent: Node | undefined;
    const path: Node[] = [];
    while (node.kids) {
      const full = node.kids.filter((k) => k.kids || k.job >= 0);
      parent = node;
      path.push(parent);
      node = full[dice.below(full.length)] as Node;
      if (piecesIn(node) <= goal - loose.length && dice.next() < 0.6) break;
    }
    collect(node, loose);
    node.kids = undefined;
    node.job = -1;
    while (path.length > 0 && joinRests(path.pop() as Node));
  }
};

const piecesIn = (n: Node): number => (n.kids ? n.kids.reduce((sum, k) => sum + piecesIn(k), 0) : n.job >= 0 ? 1 : 0);

const collect = (n: Node, loose: number[]): void => {
  if (n.kids) for (const k of n.kids) collect(k, loose);
  else if (n.job >= 0) loose.push(n.job);
};

/** Kids of one cut direction may change places: all their rests become one. True when the node is a rest now. */
const joinRests = (node: Node): boolean => {
  if (!node.kids) return false;
  let extent = 0;
  const kids = node.kids.filter((k) => {
    if (k.kids || k.job >= 0) return true;
    extent += node.across ? k.w : k.h;
    return false;
  });
  if (kids.length === 0) {
    node.kids = undefined;
    return true;
  }
  if (extent > 0) kids.push(node.across ? rest(extent, node.h) : rest(node.w, extent));
  node.kids = kids;
  return false;
};

/** Puts the loose pieces into the rests, best fit first with a little chance; gives back those that found none. */
const recreate = (tree: Node, loose: number[], { jobs }: RectanglesRequest, turns: boolean, dice: Dice): number[] => {
  const measure = dice.below(4);
  const key = jobs.map((j) =>
    measure === 0
      ? j.width * j.height
      : measure === 1
        ? Math.max(j.width, j.height)
        : measure === 2
          ? j.width + j.height
          : dice.next(),
  );
  loose.sort((a, b) => (key[b] as number) - (key[a] as number) || a - b);
  const rests: { node: Node; parent: Node | undefined }[] = [];
  const walk = (n: Node, parent: Node | undefined): void => {
    if (n.kids) for (const k of n.kids) walk(k, n);
    else if (n.job < 0) rests.push({ node: n, parent });
  };
  walk(tree, undefined);
  const missing: number[] = [];
  let failed = -1;
  for (const job of loose) {
    if (job === failed) {
      missing.push(job);
      continue;
    }
    const j = jobs[job] as (typeof jobs)[number];
    let best = -1;
    let score = Number.POSITIVE_INFINITY;
    let turned = false;
    for (let r = 0; r < rests.length; r++) {
      const { w, h } = (rests[r] as { node: Node }).node;
      for (let t = 0; t < (turns && j.width !== j.height ? 2 : 1); t++) {
        const a = t ? j.height : j.width;
        const b = t ? j.width : j.height;
        if (a > w || b > h || dice.next() < 0.03) continue;
        // What is left beside it, by the shorter side; a fit to the last unit beats all.
        const s = Math.min(w - a, h - b) + 0.02 * Math.max(w - a, h - b);
        if (s < score) {
          score = s;
          best = r;
          turned = t === 1;
        }
      }
    }
    if (best < 0) {
      missing.push(job);
      failed = job;
      continue;
    }
    const { node, parent } = rests[best] as { node: Node; parent: Node | undefined };
    rests[best] = rests.at(-1) as { node: Node; parent: Node | undefined };
    rests.pop();
    split(node, parent, job, turned ? j.height : j.width, turned ? j.width : j.height, rests, dice);
  }
  return missing;
};

/** Puts a piece of a x b into the corner of a rest: first cut along one side or the other, the larger rest kept whole mostly. */
const split = (
  node: Node,
  parent: Node | undefined,
  job: number,
  a: number,
  b: number,
  rests: { node: Node; parent: Node | undefined }[],
  dice: Dice,
): void => {
  const { w, h } = node;
  // Across first: the piece's column is a wide and h high, the rest beside it w - a wide and h high.
  const whole = (w - a) * h >= w * (h - b);
  let across = dice.next() < 0.25 ? !whole : whole;
  if (w === a) across = false;
  if (h === b) across = true;
  const piece: Node = { w: a, h: b, job, across: true, kids: undefined };
  if (w === a && h === b) {
    node.job = job;
    return;
  }
  let first: Node;
  if (across ? h === b : w === a) first = piece;
  else {
    const beside = across ? rest(a, h - b) : rest(w - a, b);
    first = { w: across ? a : w, h: across ? h : b, job: -1, across: !across, kids: [piece, beside] };
    rests.push({ node: beside, parent: first });
  }
  const remaining = across ? rest(w - a, h) : rest(w, h - b);
  if (parent && parent.across === across) {
    const kids = parent.kids as Node[];
    kids.splice(kids.indexOf(node), 1, first, remaining);
    rests.push({ node: remaining, parent });
  } else {
    node.across = across;
    node.kids = [first, remaining];
    rests.push({ node: remaining, parent: node });
  }
};

const placesOf = (tree: Node): LaidRectangle[] => {
  const laid: LaidRectangle[] = [];
  const walk = (n: Node, x: number, y: number): void => {
    if (!n.kids) {
      if (n.job >= 0) laid.push({ job: n.job, x, y, width: n.w, height: n.h });
      return;
    }
    let at = 0;
    for (const k of n.kids) {
      walk(k, n.across ? x + at : x, n.across ? y : y + at);
      at += n.across ? k.w : k.h;
    }
  };
  walk(tree, 0, 0);
  return laid;
};
