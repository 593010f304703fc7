import { diceOf } from "./dice.ts";

/** A place on a sheet, and what is printed there for whom. */
export interface Cell {
  readonly sheet: number;
  /** Cells of one sort may exchange what they print: equal shape, equally many sheets. */
  readonly sort: number;
  /** Whose pieces it prints (orders), as small numbers; the smaller, the earlier it is wanted. */
  readonly groups: readonly number[];
}

/** Exchanges tried per cell, and in all: a second's. */
const TRIES = { each: 4000, most: 3_000_000 };
/** How much worse an exchange may be to begin with, in sheets that hold pieces of a group; falls to nothing. */
const HEAT = 0.35;
/** What all that is wanted early on early sheets is worth in the end, in the same measure. */
const EARLY = 0.1;

/**
 * Exchanges equal pieces between sheets, so that the pieces of an order lie on as few sheets as can be, and of equally few
 * on earlier ones the earlier it is wanted: simulated annealing from what is given, a fixed number of trials, never worse than
 * it came. On a sheet the places of one sort then go to the groups in turn, so that an order's pieces are neighbours.
 *
 * Result: for each cell the cell whose content it prints. Common practice, no source.
 */
export const gather = (cells: readonly Cell[]): number[] => {
  const sheets = cells.reduce((n, c) => Math.max(n, c.sheet + 1), 0);
  const groups = cells.reduce((n, c) => Math.max(n, ...c.groups.map((g) => g + 1)), 0);
  const content = cells.map((_, i) => i);
  if (cells.length === 0) return content;
  /** Cells of each group on each sheet. */
  const held = new Int32Array(sheets * groups);
  for (const c of cells)
    for (const g of c.groups) held[c.sheet * groups + g] = (held[c.sheet * groups + g] as number) + 1;
  const sorts = listsBy(cells, (c) => c.sort);
  // What all lie on one sheet has nobody to exchange with.
  const spread = new Set(
    [...sorts].flatMap(([sort, list]) => (new Set(list.map((i) => cells[i]?.sheet)).size > 1 ? [sort] : [])),
  );
  const movable = cells.flatMap((c, i) => (spread.has(c.sort) ? [i] : []));
  const groupsAt = (i: number): readonly number[] => (cells[content[i] as number] as Cell).groups;
  /** Takes a content off a sheet, or puts it there; by how many pairs of sheet and group that changes. */
  const add = (sheet: number, of: readonly number[], by: 1 | -1): number => {
    let change = 0;
    for (const g of of) {
      const at = sheet * groups + g;
      const before = held[at] as number;
      held[at] = before + by;
      if (by === 1 ? before === 0 : before === 1) change += by;
    }
    return change;
  };
  const draw = diceOf(cells.length);
  const trials = movable.length === 0 ? 0 : Math.min(TRIES.most, TRIES.each * movable.length);
  const early = EARLY / (sheets * groups);
  let pairs = 0;
  let best = 0;
  let kept = [...content];
  for (let n = 0; n < trials; n++) {
    const i = movable[draw.below(movable.length)] as number;
    const list = sorts.get((cells[i] as Cell).sort) as number[];
    const k = list[draw.below(list.length)] as number;
    const s = (cells[i] as Cell).sheet;
    const t = (cells[k] as Cell).sheet;
    if (s === t) continue;
    const mine = groupsAt(i);
    const theirs = groupsAt(k);
    const change = add(s, mine, -1) + add(t, theirs, -1) + add(s, theirs, 1) + add(t, mine, 1);
    const worse = change - early * (((mine[0] ?? groups) - (theirs[0] ?? groups)) * (t - s));
    const heat = HEAT * (1 - n / trials);
    if (worse <= 0 || draw.next() < Math.exp(-worse / heat)) {
      const held = content[i] as number;
      content[i] = content[k] as number;
      content[k] = held;
      pairs += change;
      if (pairs < best) {
        best = pairs;
        kept = [...content];
      }
    } else {
      add(s, mine, 1);
      add(t, theirs, 1);
      add(s, theirs, -1);
      add(t, mine, -1);
    }
  }
  // As good by the end, and early pieces are earlier.
  return besides(cells, inTurn(cells, pairs === best ? content : kept));
};

/** Indices of what has the same key, lists and indices in the sequence given. */
const listsBy = <T, K>(items: readonly T[], keyOf: (item: T) => K): Map<K, number[]> => {
  const lists = new Map<K, number[]>();
  items.forEach((item, i) => {
    const key = keyOf(item);
    const list = lists.get(key);
    if (list) list.push(i);
    else lists.set(key, [i]);
  });
  return lists;
};

const earliest = (cells: readonly Cell[], content: number): number =>
  (cells[content] as Cell).groups[0] ?? Number.MAX_SAFE_INTEGER;

/** Sheets with the same places exchange all they print, so that what is wanted early comes off the press first. */
const inTurn = (cells: readonly Cell[], content: readonly number[]): number[] => {
  const sheets = [...listsBy(cells, (c) => c.sheet).values()];
  const alike = listsBy(sheets, (list) => list.map((i) => (cells[i] as Cell).sort).join());
  const result = [...content];
  const mean = (list: readonly number[]): number => {
    const wanted = list
      .map((i) => earliest(cells, content[i] as number))
      .filter((group) => group < Number.MAX_SAFE_INTEGER);
    return wanted.reduce((sum, group) => sum + group, 0) / wanted.length || 0;
  };
  for (const numbers of alike.values()) {
    const lists = numbers.map((k) => sheets[k] as number[]);
    const sorted = lists.map((list) => ({ list, at: mean(list) })).sort((a, b) => a.at - b.at);
    lists.forEach((list, k) => {
      list.forEach((i, q) => {
        result[i] = content[sorted[k]?.list[q] as number] as number;
      });
    });
  }
  return result;
};

/** On every sheet, the places of one sort in the order of the groups. */
const besides = (cells: readonly Cell[], content: readonly number[]): number[] => {
  const lists = listsBy(cells, ({ sheet, sort }) => `${sheet}/${sort}`);
  const result = [...content];
  for (const list of lists.values()) {
    const sorted = list
      .map((i) => content[i] as number)
      .sort((a, b) => earliest(cells, a) - earliest(cells, b) || a - b);
    list.forEach((i, q) => {
      result[i] = sorted[q] as number;
    });
  }
  return result;
};
