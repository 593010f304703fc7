import type { DrawingParts } from "@kitforme/kit";
import { openTypeface, type Typeface } from "../text/typeface.ts";
import { unpackFont } from "../text/unpack.ts";
import { tell } from "../words/drawing-words.ts";
import { type FontNames, fontNames } from "./font-names.ts";
import type { Report } from "./report.ts";

/** A font of the kit, ready to set text of a drawing. */
export interface FaceOfKit {
  readonly file: string;
  /** Plain TrueType or OpenType. */
  readonly sfnt: Uint8Array;
  readonly names: FontNames;
  readonly face: Typeface;
}

/** Opens the kit's fonts. Told, when one cannot be used or its licence forbids it; then undefined. */
export const facesOf = async (
  fonts: NonNullable<DrawingParts["fonts"]>,
  report: Report,
): Promise<readonly FaceOfKit[] | undefined> => {
  const faces: FaceOfKit[] = [];
  let good = true;
  for (const { file, bytes } of fonts) {
    const face = await openTypeface(bytes, file);
    const sfnt = "refused" in face ? undefined : (await unpackFont(bytes)).sfnt;
    const names = sfnt && fontNames(sfnt);
    const why =
      "refused" in face
        ? face.reason
        : face.permission === "restricted" || face.permission === "bitmaps-only"
          ? "its licence bits (OS/2 fsType) do not allow outlines of it in documents"
          : names
            ? undefined
            : "it has no family name";
    if (why !== undefined || "refused" in face || !sfnt || !names) {
      tell(report, "font-unusable", { file, why: why ?? "it is unreadable" });
      good = false;
    } else faces.push({ file, sfnt, names, face });
  }
  return good ? faces : undefined;
};
