import { INKS, type Samples } from "../colour/samples.ts";

/**
 * Settles translucent paint on white paper, in place. A tint of half opacity is opaque once printed: it must count as
 * artwork and give bleed, while the anti-aliased fringe around artwork must not. What tells them apart is the neighbourhood:
 *
 * ```
 *   255 255 140   0   0        a fringe pixel touches nothing at all (0): it stays translucent, measured against the
 *   128 128 128  60   0        strongest neighbour, so that 60 beside 128 reads as covered by 60/128
 *   128 128 128 128  60        a translucent pixel with paint all around is tint: white shines through, alpha becomes 255
 * ```
 *
 * Samples with straight alpha, any colours.
 */
export const settle = ({ width, height, space, data }: Samples): void => {
  const inks = INKS[space];
  const paper = space === "cmyk" ? 0 : 255;
  // Alpha as it was, of the row at hand and its neighbours: three rows that take turns.
  const rows = [new Uint8Array(width), new Uint8Array(width), new Uint8Array(width)] as const;
  const translucent = [false, false, false];
  const read = (y: number): void => {
    const row = rows[y % 3] as Uint8Array;
    let some = false;
    for (let x = 0, at = (inks + 1) * y * width + inks; x < width; x++, at += inks + 1) {
      const alpha = data[at] as number;
      row[x] = alpha;
      // 0 and 255 leave nothing above the lowest bit: 0 + 1 and 255 + 1.
      if (((alpha + 1) & 0xfe) !== 0) some = true;
    }
    translucent[y % 3] = some;
  };
  if (height > 0) read(0);
  for (let y = 0; y < height; y++) {
    if (y + 1 < height) read(y + 1);
    if (!translucent[y % 3]) continue;
    const here = rows[y % 3] as Uint8Array;
    const [first, last] = [Math.max(0, y - 1), Math.min(height - 1, y + 1)];
    for (let x = 0; x < width; x++) {
      const own = here[x] as number;
      if (own === 0 || own === 255) continue;
      let least = 255;
      let most = own;
      // Beyond the picture nothing is known: no neighbour.
      for (let row = first; row <= last; row++)
        for (let column = Math.max(0, x - 1); column <= Math.min(width - 1, x + 1); column++) {
          const alpha = rows[row % 3]?.[column] as number;
          if (alpha < least) least = alpha;
          if (alpha > most) most = alpha;
        }
      const opacity = least === 0 ? most : own;
      const at = (inks + 1) * (y * width + x);
      for (let ink = 0; ink < inks; ink++) {
        const colour = data[at + ink] as number;
        data[at + ink] = Math.round(paper + ((colour - paper) * opacity) / 255);
      }
      data[at + inks] = Math.round((own * 255) / opacity);
    }
  }
};
