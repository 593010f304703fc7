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
  const alphaRow = (y: number): Uint8Array => {
    // As it was before this row was settled, with one pixel of margin at either end.
    const row = new Uint8Array(width + 2);
    for (let x = 0, at = (inks + 1) * y * width + inks; x < width; x++, at += inks + 1) row[x + 1] = data[at] as number;
    return row;
  };
  const nothing = new Uint8Array(width + 2);
  let above: Uint8Array = nothing;
  let here = alphaRow(0);
  for (let y = 0; y < height; y++) {
    const below = y + 1 < height ? alphaRow(y + 1) : nothing;
    for (let x = 0; x < width; x++) {
      const own = here[x + 1] as number;
      if (own === 0 || own === 255) continue;
      let least = 255;
      let most = own;
      for (const row of [above, here, below])
        for (let column = x; column < x + 3; column++) {
          const alpha = row[column] as number;
          // Beyond the picture nothing is known: no neighbour.
          const outside = row === nothing || column === 0 || column === width + 1;
          if (outside) continue;
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
    above = here;
    here = below;
  }
};
