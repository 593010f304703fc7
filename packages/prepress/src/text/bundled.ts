import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { once } from "../once.ts";
import type { Typeface } from "./typeface.ts";
import { openSfnt } from "./typeface.ts";

/** Weights of the bundled font. */
export type Weight = "regular" | "semibold";

const opened = (file: string): (() => Typeface) =>
  once(() => {
    const path = fileURLToPath(new URL(`../../fonts/${file}`, import.meta.url));
    const face = openSfnt(readFileSync(path), file);
    if ("refused" in face) throw new Error(`bundled font ${path}: ${face.reason}`);
    return face;
  });
const FACES: Readonly<Record<Weight, () => Typeface>> = {
  regular: opened("NotoSans-Regular.ttf"),
  semibold: opened("NotoSans-SemiBold.ttf"),
};

/** The bundled open-licence font: Latin, Greek and Cyrillic (SIL Open Font License 1.1, text beside the files). */
export const bundledTypeface = (weight: Weight = "regular"): Typeface => FACES[weight]();
