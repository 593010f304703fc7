import { createHash } from "node:crypto";
import type { Page, Raster } from "../prepared.ts";

/** A raster with its `id`: the hash of all it is made of, so that equal pictures are embedded once. */
export const identifyRaster = (raster: Omit<Raster, "id">): Raster => {
  const hash = createHash("sha256");
  const { width, height, space, profile, data } = raster;
  hash.update(`${width} ${height} ${space} ${data.kind} ${data.inverted === true} ${profile?.length ?? 0} `);
  if (profile) hash.update(profile);
  hash.update(data.bytes);
  return { id: hash.digest("hex"), ...raster };
};

export const identifyPage = (page: Omit<Page, "id">): Page => ({
  id: createHash("sha256").update(`page ${page.index} `).update(page.bytes).digest("hex"),
  ...page,
});
