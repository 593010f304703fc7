import sharp from "sharp";

/** Versions of the libraries that decide pixels: the same input gives the same bytes where these are the same. */
export const engines = (): Readonly<Record<string, string>> => {
  const { sharp: wrapper, vips, rsvg, lcms, harfbuzz } = sharp.versions as Record<string, string | undefined>;
  return Object.fromEntries(
    Object.entries({ sharp: wrapper, vips, rsvg, lcms, harfbuzz }).filter(
      (e): e is [string, string] => e[1] !== undefined,
    ),
  );
};
