import { type CutNode, rest } from "./cut-tree.ts";
import type { Dice } from "./dice.ts";

/** Takes out about `count` pieces: whole branches of the tree, so that larger rests come about. */
export const ruin = (tree: CutNode, loose: number[], dice: Dice, count: number): void => {
  const goal = loose.length + count;
  while (loose.length < goal && (tree.kids || tree.job >= 0)) {
    // A random way down, the deeper the smaller the branch.
    let node = tree;
    let parent: CutNode | undefined;
    const path: CutNode[] = [];
    while (node.kids) {
      const full = node.kids.filter((k) => k.kids || k.job >= 0);
      parent = node;
      path.push(parent);
      node = full[dice.below(full.length)] as CutNode;
      if (piecesIn(node) <= goal - loose.length && dice.next() < 0.6) break;
    }
    collect(node, loose);
    node.kids = undefined;
    node.job = -1;
    while (path.length > 0 && joinRests(path.pop() as CutNode));
  }
};

const piecesIn = (n: CutNode): number =>
  n.kids ? n.kids.reduce((sum, k) => sum + piecesIn(k), 0) : n.job >= 0 ? 1 : 0;

const collect = (n: CutNode, loose: number[]): void => {
  if (n.kids) for (const k of n.kids) collect(k, loose);
  else if (n.job >= 0) loose.push(n.job);
};

/** Kids of one cut direction may change places: all their rests become one. True when the node is a rest now. */
const joinRests = (node: CutNode): boolean => {
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
