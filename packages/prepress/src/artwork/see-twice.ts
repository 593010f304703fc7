// The safety net beneath every drawing: two renderers of different hands draw it small, and where they differ to the eye, one
// of them reads it otherwise than the designer meant. Which one nobody here can know; so it is reported, with both views.
import { type Rect, toMm } from "@kitforme/geometry";
import { sharp } from "../sharp.ts";
import { differing, type Patch, patchesIn, thickOf } from "./differing.ts";
import { tell } from "../words/drawing-words.ts";
import type { Report } from "./report.ts";

/** Pixels of the longer side. */
const SIDE = 240;
/** Pixels that must hang together to be seen: 1.5 x 1.5 mm of a card of 100 mm. */
const SEEN = 14;
/** Pixels around the patch that its views show. */
const AROUND = 24;

/** RGBA samples, straight alpha, of a part of the drawing at so many pixels. */
export type Draw = (part: Rect, width: number, height: number) => Promise<Uint8Array>;

/** Draws a part of a drawing twice and tells where the two differ. What cannot be drawn again is noted, never an error. */
export async function seeTwice(
  box: Rect,
  { first, second }: { readonly first: Draw; readonly second: Draw },
  report: Report,
): Promise<void> {
  const scale = SIDE / Math.max(box.width, box.height);
  const [width, height] = [box.width, box.height].map((side) => Math.max(1, Math.round(side * scale))) as [
    number,
    number,
  ];
  let both: readonly [Uint8Array, Uint8Array];
  try {
    both = [onPaper(await first(box, width, height)), onPaper(await second(box, width, height))];
  } catch {
    tell(report, "drawing-seen-once", {});
    return;
  }
  const [a, b] = both;
  if (b.length !== a.length) {
    tell(report, "drawing-seen-once", {});
    return;
  }
  const { mask, count } = differing(a, b, width, height);
  const [patch] = patchesIn(thickOf(mask, width), width);
  if (!patch || patch.area < SEEN) return;
  const millimetres = (pixels: number): number => Math.round(toMm(pixels / scale) * 10) / 10;
  const middle = [
    toMm(Math.round(box.x + (patch.left + patch.right) / 2 / scale)),
    toMm(Math.round(box.y + (patch.top + patch.bottom) / 2 / scale)),
  ] as const;
  tell(
    report,
    "drawing-seen-two-ways",
    {
      width: millimetres(patch.right - patch.left),
      height: millimetres(patch.bottom - patch.top),
      share: Math.max(0.1, Math.round((1000 * count) / (width * height)) / 10),
    },
    middle,
    [
      { title: "as it prints", png: await viewOf(a, width, height, patch) },
      { title: "as another program draws it", png: await viewOf(b, width, height, patch) },
    ],
  );
}

/** RGB on white paper. */
const onPaper = (rgba: Uint8Array): Uint8Array => {
  const rgb = new Uint8Array((rgba.length / 4) * 3);
  for (let from = 0, to = 0; from < rgba.length; from += 4, to += 3) {
    const alpha = rgba[from + 3] as number;
    for (let channel = 0; channel < 3; channel++)
      rgb[to + channel] = Math.round(((rgba[from + channel] as number) * alpha) / 255 + 255 - alpha);
  }
  return rgb;
};

/** What lies around a patch, as PNG in base64. */
const viewOf = async (rgb: Uint8Array, width: number, height: number, patch: Patch): Promise<string> => {
  const left = Math.max(0, patch.left - AROUND);
  const top = Math.max(0, patch.top - AROUND);
  const region = {
    left,
    top,
    width: Math.min(width, patch.right + AROUND) - left,
    height: Math.min(height, patch.bottom + AROUND) - top,
  };
  const png = await sharp(rgb, { raw: { width, height, channels: 3 } })
    .extract(region)
    .png({ compressionLevel: 9, adaptiveFiltering: false, palette: false })
    .toBuffer();
  return png.toString("base64");
};
