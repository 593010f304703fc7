/**
 * Brings pixels of 4 inks down to a total, in place: cyan, magenta and yellow give way in their own proportion, black stays,
 * so that the hue holds and the shadow keeps its depth (as LittleCMS limits inks).
 *
 * @param limit percent, the sum of the four
 * @param step values a pixel: 5 with alpha
 */
export const limitInks = (inks: Uint8Array, limit: number, step: 4 | 5 = 4): void => {
  const most = Math.floor(limit * 2.55);
  for (let at = 0; at < inks.length; at += step) {
    const [c, m, y, k] = [inks[at], inks[at + 1], inks[at + 2], inks[at + 3]] as [number, number, number, number];
    if (c + m + y + k <= most) continue;
    const share = Math.max(0, most - k) / (c + m + y);
    inks[at] = Math.floor(c * share);
    inks[at + 1] = Math.floor(m * share);
    inks[at + 2] = Math.floor(y * share);
  }
};
