import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import type { Press } from "@kitforme/kit";
import { once } from "../once.ts";

/** What a sheet is printed to: the profile for a PDF's output intent and the name of the printing condition. */
export interface OutputProfile {
  readonly bytes: Uint8Array;
  /** Where the profile lies; absent for a shop's own. */
  readonly path?: string;
  /** OutputConditionIdentifier; for CMYK a name of the ICC characterisation data registry. */
  readonly identifier: string;
  readonly info: string;
  /** Set when the identifier is registered. */
  readonly registry?: string;
  /** Most ink that the condition takes, percent. */
  readonly inkLimit: number;
  /** Colour components, `N` of the ICC stream. */
  readonly channels: 3 | 4;
}

// Two up from src/colour and from dist/colour alike.
const bundled = (file: string): { readonly bytes: Uint8Array; readonly path: string } => {
  const path = fileURLToPath(new URL(`../../profiles/${file}`, import.meta.url));
  return { path, bytes: readFileSync(path) };
};

/** Coated paper by the FOGRA39 data, whose usual limit is 330 % (from memory); black takes 300 to 317 % (measured). */
const coated = once(
  (): OutputProfile => ({
    ...bundled("FOGRA39L_coated.icc"),
    identifier: "FOGRA39",
    info: "Coated paper, offset, FOGRA39L characterisation data",
    registry: "http://www.color.org",
    inkLimit: 330,
    channels: 4,
  }),
);

/** Uncoated white paper by the FOGRA29 data; separated for 300 %, the usual limit of such paper (from memory). */
const uncoated = once(
  (): OutputProfile => ({
    ...bundled("FOGRA29L_uncoated.icc"),
    identifier: "FOGRA29",
    info: "Uncoated white paper, offset, FOGRA29L characterisation data",
    registry: "http://www.color.org",
    inkLimit: 300,
    channels: 4,
  }),
);

/** sRGB, for pictures that stay RGB. */
export const srgb = once(
  (): OutputProfile => ({
    ...bundled("sRGB.icc"),
    identifier: "sRGB",
    info: "sRGB IEC 61966-2-1",
    inkLimit: 300,
    channels: 3,
  }),
);

/** What of a press decides its colours. */
export type PressColour = Pick<Press, "colour" | "profile" | "bundled" | "intent" | "inkLimit" | "spots">;

/** Common practice for a condition that nobody has told the limit of. */
const USUAL_LIMIT = 300;

/**
 * The profile a press's colour is made for: its own, else for `cmyk` the bundled one that it names or FOGRA39, sRGB for `rgb`, none for `grey` (device grey).
 * A shop's own profile is no registered condition: `Custom`, with the file's name as its description.
 */
export const outputProfile = ({ colour, profile, bundled: named }: PressColour): OutputProfile | null => {
  if (profile && colour !== "grey")
    return {
      bytes: profile.bytes,
      identifier: "Custom",
      info: profile.file,
      inkLimit: USUAL_LIMIT,
      channels: colour === "cmyk" ? 4 : 3,
    };
  return colour === "cmyk" ? (named === "FOGRA29" ? uncoated() : coated()) : colour === "rgb" ? srgb() : null;
};

/** Most ink a press takes anywhere, percent: what the shop says, else what its profile is known for. */
export const inkLimitOf = (press: PressColour): number =>
  press.inkLimit ?? outputProfile(press)?.inkLimit ?? USUAL_LIMIT;
