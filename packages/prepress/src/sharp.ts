// sharp by `require`: half the processor to load. `import` first reads it, and the fifty small files that it needs, for their exports.
import { createRequire } from "node:module";
import type library from "sharp";

export const sharp = createRequire(import.meta.url)("sharp") as typeof library;
export type { Metadata, Sharp, SharpOptions } from "sharp";
