import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import type { Typeface } from "./typeface.ts";
import { openSfnt } from "./typeface.ts";

/** Weights of the bundled font. */
export type Weight = "regular" | "semibold";

const FILES: Record<Weight, string> = { regular: "NotoSans-Regular.ttf", semibold: "NotoSans-SemiBold.ttf" };
const opened = new Map<Weight, Typeface>();

/** The bundled open-licence font: Latin, Greek and Cyrillic (SIL Open Font License 1.1, text beside the files). */
export const bundledTypeface = (weight: Weight = "regular"): Typeface => {
  const known = opened.get(weight);
  if (known) return known;
  const path = fileURLToPath(new URL(`../../fonts/${FILES[weight]}`, import.meta.url));
  const face = openSfnt(readFileSync(path), FILES[weight]);
  if ("refused" in face) throw new Error(`bundled font ${path}: ${face.reason}`);
  opened.set(weight, face);
  return face;
};
