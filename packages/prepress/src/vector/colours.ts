import type { PDFContext, PDFObject } from "../pdf-lib.ts";
import { packed } from "../artwork/pdf/pack.ts";
import { srgb } from "../colour/profile.ts";
import type { InksOf } from "./inks.ts";
import type { Rgb } from "./shapes.ts";

/** The colours of a page: how many values, what space they are in, and how they are set. */
export interface Colours {
  readonly channels: 1 | 3 | 4;
  /** Values of 8 bits. */
  readonly values: (rgb: Rgb) => readonly number[];
  /** The space of shadings. */
  readonly space: (context: PDFContext) => Promise<PDFObject>;
  /** The space that transparency mixes in: the press's own. */
  readonly mixing: string;
  /** Operators of a fill and of a line; with a space of its own, that space is set first. */
  readonly operators: readonly [fill: string, stroke: string];
  readonly named: boolean;
}

const device = (name: string) => (context: PDFContext) => Promise.resolve<PDFObject>(context.obj(name));

/** The page as it goes to the press. */
export const pressColours = (colour: "cmyk" | "rgb" | "grey", inks: InksOf): Colours => {
  if (colour === "cmyk")
    return {
      channels: 4,
      values: inks,
      space: device("DeviceCMYK"),
      mixing: "DeviceCMYK",
      operators: ["k", "K"],
      named: false,
    };
  if (colour === "grey")
    return {
      channels: 1,
      values: inks,
      space: device("DeviceGray"),
      mixing: "DeviceGray",
      operators: ["g", "G"],
      named: false,
    };
  return {
    channels: 3,
    values: inks,
    space: async (context) =>
      context.obj(["ICCBased", context.register(await packed(context, srgb().bytes, { N: context.obj(3) }))]),
    mixing: "DeviceRGB",
    operators: ["sc", "SC"],
    named: true,
  };
};

/**
 * The page of inks for a renderer that knows only RGB, in two passes (see artwork/pdf/plates.ts): red, green and blue are paper
 * less cyan, magenta and yellow; then all three are paper less black.
 */
export const plateColours = (pass: "cmy" | "k", inks: InksOf): Colours => ({
  channels: 3,
  values: (rgb) => {
    const [c = 0, m = 0, y = 0, k = 0] = inks(rgb).map((ink) => 255 - ink);
    return pass === "cmy" ? [c, m, y] : [k, k, k];
  },
  space: device("DeviceRGB"),
  mixing: "DeviceRGB",
  operators: ["rg", "RG"],
  named: false,
});
