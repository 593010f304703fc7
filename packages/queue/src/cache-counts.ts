/** How often what was asked for was ready, in this process: kits frozen before, pieces prepared before, threads that had done a job. */
export const cacheCounts = {
  frozen: { hits: 0, misses: 0 },
  prepared: { hits: 0, misses: 0 },
  threads: { hits: 0, misses: 0 },
};

/** Counts one look. */
export const countLook = (cache: keyof typeof cacheCounts, found: boolean): void => {
  cacheCounts[cache][found ? "hits" : "misses"]++;
};
