/**
 * An amount in whole cents shared out by weights so that the shares add up to it exactly: everybody gets the cents of the
 * rounded-down share, and the cents that are left go to the largest remainders (the method of largest remainders, as seats
 * are dealt in elections); ties to the first.
 *
 * @param weights none negative; when all are 0 the shares are as equal as whole cents can be
 */
export const shareOut = (cents: number, weights: readonly number[]): number[] => {
  if (weights.length === 0) return [];
  const sum = weights.reduce((a, b) => a + b, 0);
  const exact = weights.map((w) => (sum > 0 ? (cents * w) / sum : cents / weights.length));
  const shares = exact.map(Math.floor);
  let left = cents - shares.reduce((a, b) => a + b, 0);
  const byRest = exact
    .map((value, i) => ({ i, rest: value - Math.floor(value) }))
    .sort((a, b) => b.rest - a.rest || a.i - b.i);
  for (const { i } of byRest) {
    if (left <= 0) break;
    shares[i] = (shares[i] as number) + 1;
    left--;
  }
  return shares;
};
