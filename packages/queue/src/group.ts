/** What belongs together, groups in the sequence of their first members (as newer languages' `Map.groupBy`). */
export const groupBy = <T, K>(all: readonly T[], keyOf: (one: T, index: number) => K): Map<K, T[]> => {
  const groups = new Map<K, T[]>();
  all.forEach((one, i) => {
    const key = keyOf(one, i);
    const group = groups.get(key);
    if (group) group.push(one);
    else groups.set(key, [one]);
  });
  return groups;
};
