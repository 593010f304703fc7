import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { dirname, join } from "node:path";
import { sharp } from "./sharp.ts";

/** Version of the renderer that sets the text of drawings; its package.json is not among its exports. */
const resvgVersion = (): string => {
  const folder = dirname(createRequire(import.meta.url).resolve("@resvg/resvg-wasm/index_bg.wasm"));
  return (JSON.parse(readFileSync(join(folder, "package.json"), "utf8")) as { version: string }).version;
};

/** Versions of the libraries that decide pixels: the same input gives the same bytes where these are the same. */
export const engines = (): Readonly<Record<string, string>> => {
  const { sharp: wrapper, vips, rsvg, lcms, harfbuzz } = sharp.versions as Record<string, string | undefined>;
  const colours = createRequire(import.meta.url)("lcms-wasm/package.json") as { readonly version: string };
  return Object.fromEntries(
    Object.entries({
      "lcms-wasm": colours.version,
      sharp: wrapper,
      vips,
      rsvg,
      lcms,
      harfbuzz,
      resvg: resvgVersion(),
    }).filter((e): e is [string, string] => e[1] !== undefined),
  );
};
