/**
 * Works through `items` in so many lanes at once, results in the items' order. Two lanes let one piece wait for the raster
 * library's threads while the other computes; more would only hold more pictures in memory. The first failure ends all lanes.
 */
export const inLanes = async <T, R>(
  items: readonly T[],
  lanes: number,
  work: (item: T, index: number) => Promise<R>,
): Promise<R[]> => {
  const results: R[] = [];
  let next = 0;
  let failed = false;
  const lane = async (): Promise<void> => {
    while (next < items.length && !failed) {
      const index = next++;
      try {
        results[index] = await work(items[index] as T, index);
      } catch (error) {
        failed = true;
        throw error;
      }
    }
  };
  const ended = await Promise.allSettled(Array.from({ length: lanes }, lane));
  const fault = ended.find((e) => e.status === "rejected");
  if (fault) throw fault.reason;
  return results;
};
