import { toMm } from "@kitforme/geometry";
import type { Press } from "@kitforme/kit";
import { PDFDocument } from "pdf-lib";
import { srgb } from "../colour/profile.ts";
import { channelsOf, coverage, type Samples, withoutAlpha } from "../colour/samples.ts";
import { samplesToPress } from "../colour/to-press.ts";
import { checkProportions } from "./check-resolution.ts";
import { boxOf, cropTo } from "./crop.ts";
import { MOST_PIXELS } from "./limits.ts";
import type { FileArtwork, Opened, Window } from "./opened.ts";
import { hiddenLayers } from "./pdf/hidden.ts";
import { type Kept, keepPage } from "./pdf/keep.ts";
import { type Refusal, withPage } from "./pdf/pdfium.ts";
import { drawPlates } from "./pdf/plates.ts";
import { drawPage, type RenderOptions } from "./render-page.ts";
import type { Report } from "./report.ts";
import { settle } from "./settle.ts";

const refuse = (refusal: Refusal, report: Report): undefined => {
  if (refusal === "encrypted")
    report.add("error", "artwork-encrypted", "the PDF is encrypted", "save it without password and permissions");
  else if (refusal === "no-page")
    report.add("error", "artwork-missing-page", "the PDF has no such page", "check the file");
  else report.add("error", "artwork-unreadable", "the PDF is damaged or cut off", "export it again");
  return undefined;
};

/** Opens the first page of a PDF: its pixels for the bleed, and the page itself where it can stay vectors. */
export async function openPage(
  artwork: FileArtwork,
  press: Press,
  window: Window,
  report: Report,
): Promise<Opened | undefined> {
  const sized = await withPage(artwork.bytes, 0, ({ count, width, height }) => ({ count, width, height }));
  if ("refusal" in sized) return refuse(sized.refusal, report);
  const { count, width: pointsWide, height: pointsHigh } = sized.value;
  if (count > 1)
    report.add("warning", "artwork-more-pages", `the PDF has ${count} pages; the first is printed`, "hand in one page");
  checkProportions(pointsWide / pointsHigh, artwork.box, `${pointsWide} x ${pointsHigh} points`, report);

  const document = await read(artwork.bytes);
  const hidden = document ? hiddenLayers(document) : [];
  if (hidden.length > 0)
    report.add(
      "warning",
      "artwork-hidden-layers",
      `hidden layers are not printed: ${hidden.slice(0, 5).join(", ")}${hidden.length > 5 ? ", ..." : ""}`,
      "delete what is not meant to be printed, and export again",
    );

  const pixel = 25_400 / press.resolution;
  const pixels = { width: Math.round(artwork.box.width / pixel), height: Math.round(artwork.box.height / pixel) };
  const crop = cropTo(window, artwork.box, pixels);
  if (!crop) {
    report.add("error", "artwork-blank", "no part of the page lies on the piece", "check the artwork's box");
    return undefined;
  }
  if (crop.width * crop.height > MOST_PIXELS) {
    report.add(
      "error",
      "artwork-oversized",
      `${toMm(artwork.box.width)} x ${toMm(artwork.box.height)} mm are ${crop.width} x ${crop.height} pixels`,
      "check the artwork's box",
    );
    return undefined;
  }
  const region = { x: crop.left, y: crop.top, width: crop.width, height: crop.height };
  const kept = await keep(document, hidden, press);
  tellRastered(kept, press, report);
  const samples = await draw(artwork.bytes, kept, press, { ...pixels, region });
  if ("refusal" in samples) return refuse(samples.refusal, report);
  const { width, height, alpha, data, space } = samples;
  return {
    grid: {
      width,
      height,
      channels: channelsOf(samples),
      depth: 8,
      data,
      alpha,
      box: boxOf(crop, artwork.box, pixels),
    },
    space,
    source: alpha ? "alpha" : "clean",
    ...(space === "rgb" ? { profile: srgb().bytes } : {}),
    ...(kept.page && kept.reasons.length === 0
      ? { original: { kind: "page", page: kept.page, box: artwork.box } as const }
      : {}),
  };
}

/** The page's pixels: in its own inks where they can be told apart, else by way of RGB. */
const draw = async (
  bytes: Uint8Array,
  { page, anatomy }: Kept,
  press: Press,
  options: RenderOptions,
): Promise<Samples | { readonly refusal: Refusal }> => {
  const plates = page && press.colour === "cmyk" ? await drawPlates(page.bytes, press, options) : undefined;
  if (plates) {
    settle(plates);
    return opaqued(plates);
  }
  const drawn = await withPage(bytes, 0, (open) => drawPage(open, { ...options, transparent: true }));
  if ("refusal" in drawn) return drawn;
  const rgba: Samples = { ...drawn.value, space: "rgb", alpha: true };
  settle(rgba);
  return samplesToPress(opaqued(rgba), press, { pureBlack: anatomy?.mixed === false });
};

const opaqued = (samples: Samples): Samples => (coverage(samples) === "opaque" ? withoutAlpha(samples) : samples);

const keep = async (document: PDFDocument | undefined, hidden: readonly string[], press: Press): Promise<Kept> => {
  if (!document) return { reasons: ["its structure cannot be rewritten"] };
  if (hidden.length > 0) return { reasons: ["hidden layers"] };
  try {
    return await keepPage(document, 0, press);
  } catch {
    // The PDF library throws its own kinds of errors on objects that are not what their names say.
    return { reasons: ["its objects are not what they should be"] };
  }
};

const tellRastered = (kept: Kept, press: Press, report: Report): void => {
  if (kept.reasons.length === 0) return;
  const fonts = [...(kept.anatomy?.fontsMissing ?? [])];
  if (fonts.length > 0)
    report.add(
      "warning",
      "artwork-live-text",
      `fonts are not embedded and others are set in their place: ${fonts.join(", ")}`,
      "embed all fonts, or convert text to outlines",
    );
  report.add(
    "note",
    "artwork-rastered",
    `the page is printed as pixels of ${press.resolution} ppi: ${kept.reasons.join("; ")}`,
    "export it as PDF/X-4 to keep it as vectors",
  );
};

/** The document as the PDF library sees it; undefined where it does not, and the page is rastered. */
const read = async (bytes: Uint8Array): Promise<PDFDocument | undefined> => {
  try {
    return await PDFDocument.load(bytes, { updateMetadata: false, throwOnInvalidObject: true, parseSpeed: Infinity });
  } catch {
    return undefined;
  }
};
