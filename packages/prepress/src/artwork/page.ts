import { type Rect, toMm } from "@kitforme/geometry";
import type { Press } from "@kitforme/kit";
import { PDFDocument } from "pdf-lib";
import { srgb } from "../colour/profile.ts";
import { channelsOf, coverage, type Samples, withoutAlpha } from "../colour/samples.ts";
import { samplesToPress } from "../colour/to-press.ts";
import { checkPlaced, checkProportions, type ResolutionLimits } from "./check-resolution.ts";
import { boxOf, type Crop, cropTo } from "./crop.ts";
import { MOST_PIXELS } from "./limits.ts";
import type { FileArtwork, Opened, Window } from "./opened.ts";
import { hiddenLayers } from "./pdf/hidden.ts";
import { type Kept, keepPage } from "./pdf/keep.ts";
import { type Refusal, withPage } from "./pdf/pdfium.ts";
import { type PlacedPicture, picturesOf } from "./pdf/pictures.ts";
import { type Plates, platesOf } from "./pdf/plates.ts";
import { purify } from "./purify.ts";
import { drawPage, type RenderOptions } from "./render-page.ts";
import type { Report } from "./report.ts";
import { settle } from "./settle.ts";

const refuse = (refusal: Refusal, report: Report): undefined => {
  if (refusal === "encrypted")
    report.add("error", "artwork-encrypted", "the PDF is encrypted", "save it without password and permissions");
  else if (refusal === "no-page") report.add("error", "artwork-missing-page", "the PDF has no page", "export it again");
  else report.add("error", "artwork-unreadable", "the PDF is damaged or cut off", "export it again");
  return undefined;
};

/** Opens the first page of a PDF: its pixels for the bleed, and the page itself where it can stay vectors. */
export async function openPage(
  artwork: FileArtwork,
  press: Press,
  window: Window,
  limits: ResolutionLimits,
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
  const crop = cropTo(window.box, artwork.box, pixels);
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
  const taken = await takeApart(document, hidden, press);
  const { kept } = taken;
  tellRastered(kept, press, report);
  checkPlaced(sizesIn(taken, artwork.box, sized.value), press, limits, report);
  const renderer = rendererOf(artwork.bytes, taken, press);
  const drawn = await renderer.draw(pixels, crop);
  if ("refusal" in drawn) return refuse(drawn.refusal, report);
  const draw = async (part: Crop, scale: number): Promise<Samples | undefined> => {
    const whole = { width: pixels.width * scale, height: pixels.height * scale };
    const [left, top] = [(crop.left + part.left) * scale, (crop.top + part.top) * scale];
    const finer = await renderer.draw(whole, { left, top, width: part.width * scale, height: part.height * scale });
    return "refusal" in finer ? undefined : finer;
  };
  const bytes = artwork.bytes.length;
  await purify(drawn, boxOf(crop, artwork.box, pixels), window.contours, { draw, bytes });
  const samples = await renderer.finish(coverage(drawn) === "opaque" ? withoutAlpha(drawn) : drawn);
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

/** Sizes of the page's pictures where the page fills its box. */
const sizesIn = ({ pictures, turned }: Taken, box: Rect, shown: Size) => {
  const [across, down] = [box.width / shown.width, box.height / shown.height];
  const [perX, perY] = turned ? [down, across] : [across, down];
  return pictures.map(({ width, height, matrix: [a, b, c, d] }) => ({
    pixels: [width, height] as const,
    size: [Math.hypot(a * perX, b * perY), Math.hypot(c * perX, d * perY)] as const,
  }));
};

type Size = { readonly width: number; readonly height: number };

/** How a page is drawn: in its own inks where they can be told apart, else by way of RGB. */
interface Renderer {
  /** Part of the page at a size of the whole, with alpha, translucent paint settled on paper. */
  readonly draw: (whole: Size, part: Crop) => Promise<Samples | { readonly refusal: Refusal }>;
  /** To the press's colours. */
  readonly finish: (samples: Samples) => Promise<Samples>;
}

const rendererOf = (bytes: Uint8Array, { plates, kept: { anatomy } }: Taken, press: Press): Renderer => {
  const options = (whole: Size, { left, top, width, height }: Crop): RenderOptions => ({
    ...whole,
    region: { x: left, y: top, width, height },
    transparent: true,
  });
  if (plates)
    return {
      draw: async (whole, part) => {
        const inks = await plates.draw(options(whole, part));
        if (!inks) return { refusal: "damaged" };
        settle(inks);
        return inks;
      },
      finish: (inks) => Promise.resolve(inks),
    };
  return {
    draw: async (whole, part) => {
      const drawn = await withPage(bytes, 0, (open) => drawPage(open, options(whole, part)));
      if ("refusal" in drawn) return drawn;
      const rgba: Samples = { ...drawn.value, space: "rgb", alpha: true };
      settle(rgba);
      return rgba;
    },
    finish: (rgba) => samplesToPress(rgba, press, { pureBlack: anatomy?.mixed === false }),
  };
};

/** What a page turned out to be. */
interface Taken {
  readonly kept: Kept;
  readonly plates?: Plates | undefined;
  readonly pictures: readonly PlacedPicture[];
  /** Shown with its sides exchanged. */
  readonly turned: boolean;
}

/** The page taken apart, as far as it can be. */
const takeApart = async (
  document: PDFDocument | undefined,
  hidden: readonly string[],
  press: Press,
): Promise<Taken> => {
  const whole = { pictures: [], turned: false };
  if (!document) return { ...whole, kept: { reasons: ["its structure cannot be rewritten"] } };
  if (hidden.length > 0) return { ...whole, kept: { reasons: ["hidden layers"] } };
  try {
    const kept = await keepPage(document, 0, press);
    return {
      kept,
      plates: kept.page && press.colour === "cmyk" ? await platesOf(kept.page.bytes, press) : undefined,
      pictures: kept.anatomy ? picturesOf(kept.anatomy) : [],
      turned: (document.getPage(0).getRotation().angle / 90) % 2 !== 0,
    };
  } catch {
    // The PDF library throws its own kinds of errors on objects that are not what their names say.
    return { ...whole, kept: { reasons: ["its objects are not what they should be"] } };
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
