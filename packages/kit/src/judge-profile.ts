import type { ShopForm } from "./forms/shop-form.ts";
import { badPath } from "./guard.ts";
import type { Finding, Place } from "./problem.ts";
import { say } from "./say.ts";
import { BUNDLED_PROFILES, type BundledProfile } from "./shop.ts";

/** ICC profiles by the names that shop.json gives them. */
export type Profiles = Readonly<Record<string, Uint8Array>>;

/** Colour space of an output profile by the press's colour (ICC.1, header, bytes 16 to 19). */
const SPACES = { cmyk: "CMYK", rgb: "RGB ", grey: "GRAY" } as const;

/** Whether `profile` of a press names a bundled one in place of a file. */
export const isBundled = (profile: string | undefined): profile is BundledProfile =>
  BUNDLED_PROFILES.some((name) => name === profile);

/** What is wrong with the `profile` of a press: its file is not there, or is for another kind of press. */
export const judgedProfile = (
  name: string,
  { profile, colour }: ShopForm["presses"][string],
  profiles: Profiles,
): Finding[] => {
  if (profile === undefined) return [];
  const where: Place = { file: "shop.json", field: `presses.${name}.profile` };
  if (isBundled(profile))
    return colour === "cmyk"
      ? []
      : [
          say("profile-unusable", where, {
            press: name,
            file: profile,
            why: `its colours are CMYK, the press's ${colour}`,
          }),
        ];
  const outside = badPath(profile);
  if (outside) return [say("profile-unusable", where, { press: name, file: profile, why: `the path ${outside}` })];
  const bytes = profiles[profile];
  if (!bytes) return [say("profile-missing", where, { press: name, file: profile })];
  const text = (at: number): string => new TextDecoder("latin1").decode(bytes.subarray(at, at + 4));
  const why =
    bytes.length < 132 || text(36) !== "acsp"
      ? "it is no ICC profile"
      : text(12) !== "prtr" && colour === "cmyk"
        ? "it is not of the class of printers (prtr)"
        : text(16) !== SPACES[colour]
          ? `its colours are ${text(16).trim()}, the press's ${colour}`
          : undefined;
  return why === undefined ? [] : [say("profile-unusable", where, { press: name, file: profile, why })];
};
