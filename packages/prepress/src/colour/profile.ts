import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import type { Press } from "@kitforme/kit";

/** What a sheet is printed to: the profile for a PDF's output intent and the name of the printing condition. */
export interface OutputProfile {
  readonly bytes: Uint8Array;
  /** Where the profile lies: sharp takes profiles by path only. */
  readonly path: string;
  /** OutputConditionIdentifier; for CMYK a name of the ICC characterisation data registry. */
  readonly identifier: string;
  readonly info: string;
  /** Set when the identifier is registered. */
  readonly registry?: string;
  /** Colour components, `N` of the ICC stream. */
  readonly channels: 3 | 4;
}

// Two up from src/colour and from dist/colour alike.
const bundled = (file: string): Pick<OutputProfile, "bytes" | "path"> => {
  const path = fileURLToPath(new URL(`../../profiles/${file}`, import.meta.url));
  return { path, bytes: readFileSync(path) };
};

const once = <T>(make: () => T): (() => T) => {
  let made: T | undefined;
  return () => {
    made ??= make();
    return made;
  };
};

/** Coated paper by the FOGRA39 data: 300 % total ink for black (measured through this profile). */
const coated = once(
  (): OutputProfile => ({
    ...bundled("FOGRA39L_coated.icc"),
    identifier: "FOGRA39",
    info: "Coated paper, offset, FOGRA39L characterisation data",
    registry: "http://www.color.org",
    channels: 4,
  }),
);

/** sRGB, for pictures that stay RGB. */
export const srgb = once(
  (): OutputProfile => ({
    ...bundled("sRGB.icc"),
    identifier: "sRGB",
    info: "sRGB IEC 61966-2-1",
    channels: 3,
  }),
);

/** The profile a press's colour is made for: FOGRA39 for `cmyk`, sRGB for `rgb`, none for `grey` (device grey). */
export const outputProfile = (press: Pick<Press, "colour">): OutputProfile | null =>
  press.colour === "cmyk" ? coated() : press.colour === "rgb" ? srgb() : null;
