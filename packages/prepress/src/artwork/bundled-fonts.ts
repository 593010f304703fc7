import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { openSfnt } from "../text/typeface.ts";
import { once } from "../once.ts";
import type { FaceOfKit } from "./faces-of-kit.ts";
import { fontNames } from "./font-names.ts";

/** The bundled font in its weights, for text of drawings whose font is not there. */
export const bundledFonts = once((): readonly FaceOfKit[] =>
  ["NotoSans-Regular.ttf", "NotoSans-SemiBold.ttf"].map((file) => {
    const sfnt = readFileSync(fileURLToPath(new URL(`../../fonts/${file}`, import.meta.url)));
    const names = fontNames(sfnt);
    const face = openSfnt(sfnt, file);
    if (!names || "refused" in face) throw new Error(`bundled font ${file} is unreadable`);
    return { file, sfnt, names, face };
  }),
);
