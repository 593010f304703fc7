import { PDFArray, PDFName, type PDFObject } from "../../pdf-lib.ts";
import { convert } from "../../colour/engine.ts";
import { limitInks } from "../../colour/limit-inks.ts";
import { inkLimitOf, outputProfile, type PressColour } from "../../colour/profile.ts";
import { samplesToPress } from "../../colour/to-press.ts";
import { componentsOf } from "./components-of.ts";
import type { Evaluate } from "./evaluate.ts";

const byte = (share: number): number => Math.round(Math.min(1, Math.max(0, share)) * 255);

/** A grid of tints, the first input varying fastest (ISO 32000, 7.10.2). */
export const gridOfTints = (inputs: number, steps: number): number[][] =>
  Array.from({ length: steps ** inputs }, (_, at) =>
    Array.from({ length: inputs }, (_, i) => (Math.floor(at / steps ** i) % steps) / (steps - 1)),
  );

/**
 * Inks of tints: by the colour that stands for them, in whatever space that is.
 *
 * @param alternate its colour space; undefined is answered for those that are not grey, RGB, CMYK or Lab
 * @returns four bytes a tint
 */
export const inksOfTints = async (
  alternate: PDFObject | undefined,
  evaluate: Evaluate,
  tints: readonly (readonly number[])[],
  press: PressColour,
): Promise<Uint8Array | undefined> => {
  const kind = alternate instanceof PDFArray && alternate.size() > 1 ? alternate.lookup(0) : undefined;
  const lab = kind === PDFName.of("Lab");
  const channels = lab ? 3 : componentsOf(alternate);
  if (channels !== 1 && channels !== 3 && channels !== 4) return undefined;
  const count = tints.length;
  const data = new Uint8Array(count * channels);
  for (let at = 0; at < count; at++) {
    const values = evaluate(tints[at] as readonly number[]);
    if (values.length < channels || values.some((value) => !Number.isFinite(value))) return undefined;
    for (let i = 0; i < channels; i++) {
      const value = values[i] as number;
      data[at * channels + i] = !lab ? byte(value) : i === 0 ? byte(value / 100) : byte((value + 128) / 255);
    }
  }
  if (channels === 4) return data;
  if (channels === 1) {
    const inks = new Uint8Array(4 * count);
    for (let at = 0; at < count; at++) inks[4 * at + 3] = 255 - (data[at] as number);
    return inks;
  }
  if (!lab) return (await samplesToPress({ width: count, height: 1, space: "rgb", alpha: false, data }, press)).data;
  const profile = outputProfile(press)?.bytes as Uint8Array;
  const inks = await convert(data, "lab", profile, "relative");
  limitInks(inks, inkLimitOf(press));
  return inks;
};
