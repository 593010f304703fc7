import { type CutNode, rest } from "./cut-tree.ts";
import type { Dice } from "./dice.ts";
import type { RectanglesRequest } from "./rectangles.ts";

/** Puts the loose pieces into the rests, best fit first with a little randomness; gives back those that found none. */
export const recreate = (
  tree: CutNode,
  loose: number[],
  { jobs }: RectanglesRequest,
  turns: boolean,
  dice: Dice,
): number[] => {
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
  const rests: { node: CutNode; parent: CutNode | undefined }[] = [];
  const walk = (n: CutNode, parent: CutNode | undefined): void => {
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
      const { w, h } = (rests[r] as { node: CutNode }).node;
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
    const { node, parent } = rests[best] as { node: CutNode; parent: CutNode | undefined };
    rests[best] = rests.at(-1) as { node: CutNode; parent: CutNode | undefined };
    rests.pop();
    split(node, parent, job, turned ? j.height : j.width, turned ? j.width : j.height, rests, dice);
  }
  return missing;
};

/** Puts a piece of a x b into the corner of a rest: first cut along one side or the other, the larger rest kept whole mostly. */
const split = (
  node: CutNode,
  parent: CutNode | undefined,
  job: number,
  a: number,
  b: number,
  rests: { node: CutNode; parent: CutNode | undefined }[],
  dice: Dice,
): void => {
  const { w, h } = node;
  // Across first: the piece's column is a wide and h high, the rest beside it w - a wide and h high.
  const whole = (w - a) * h >= w * (h - b);
  let across = dice.next() < 0.25 ? !whole : whole;
  if (w === a) across = false;
  if (h === b) across = true;
  const piece: CutNode = { w: a, h: b, job, across: true, kids: undefined };
  if (w === a && h === b) {
    node.job = job;
    return;
  }
  let first: CutNode;
  if (across ? h === b : w === a) first = piece;
  else {
    const beside = across ? rest(a, h - b) : rest(w - a, b);
    first = { w: across ? a : w, h: across ? h : b, job: -1, across: !across, kids: [piece, beside] };
    rests.push({ node: beside, parent: first });
  }
  const remaining = across ? rest(w - a, h) : rest(w, h - b);
  if (parent && parent.across === across) {
    const kids = parent.kids as CutNode[];
    kids.splice(kids.indexOf(node), 1, first, remaining);
    rests.push({ node: remaining, parent });
  } else {
    node.across = across;
    node.kids = [first, remaining];
    rests.push({ node: remaining, parent: node });
  }
};
