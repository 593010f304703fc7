/** Decoded colour: 8 bits a channel, interleaved, rows from the top, no padding; CMYK as ink amounts (0 = paper). */
export interface Samples {
  readonly width: number;
  readonly height: number;
  readonly space: "grey" | "rgb" | "cmyk";
  /** A last channel of straight alpha follows the colour. */
  readonly alpha: boolean;
  readonly data: Uint8Array;
}

/** Channels of colour, without alpha. */
export const INKS = { grey: 1, rgb: 3, cmyk: 4 } as const;

export type Channels = 1 | 2 | 3 | 4 | 5;

/** Values a pixel, alpha included. */
export const channelsOf = ({ space, alpha }: Pick<Samples, "space" | "alpha">): Channels =>
  (INKS[space] + (alpha ? 1 : 0)) as Channels;

/** The samples without their alpha: for pictures that are opaque all over. */
export const withoutAlpha = (samples: Samples): Samples => {
  if (!samples.alpha) return samples;
  const inks = INKS[samples.space];
  const data = new Uint8Array(samples.width * samples.height * inks);
  for (let from = 0, to = 0; to < data.length; from += inks + 1, to += inks)
    for (let ink = 0; ink < inks; ink++) data[to + ink] = samples.data[from + ink] as number;
  return { ...samples, alpha: false, data };
};

/** What alpha does over all samples: every pixel opaque, none painted at all, or something between. */
export const coverage = ({ alpha, space, data }: Samples): "opaque" | "blank" | "partial" => {
  if (!alpha) return "opaque";
  const step = INKS[space] + 1;
  const first = data[step - 1];
  if (first !== 0 && first !== 255) return "partial";
  for (let at = step - 1; at < data.length; at += step) if (data[at] !== first) return "partial";
  return first === 255 ? "opaque" : "blank";
};
