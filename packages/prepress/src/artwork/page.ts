// A page of a PDF from its file to pixels and vectors, with what a prepress desk looks for on it: one page in one state.
import { type Rect, toMm } from "@kitforme/geometry";
import type { Press } from "@kitforme/kit";
import { namesTool, say } from "@kitforme/kit/findings";
import { PDFDocument } from "../pdf-lib.ts";
import { srgb } from "../colour/profile.ts";
import { channelsOf, coverage, type Samples, withoutAlpha } from "../colour/samples.ts";
import { samplesToPress } from "../colour/to-press.ts";
import { checkPlaced, checkProportions, type ResolutionLimits } from "./check-resolution.ts";
import { boxOf, type Crop, cropTo } from "./crop.ts";
import { MOST_PIXELS, THIN } from "./limits.ts";
import type { FileArtwork, Opened, Window } from "./opened.ts";
import { Broken } from "./damage/damage.ts";
import { boxesOf, hasArea, type PageBoxes, placeOf, shownSize, toPlace } from "./pdf/boxes.ts";
import { checkFile } from "./pdf/check-file.ts";
import { middleOfGrey } from "./pdf/grey-curve.ts";
import { hiddenLayers } from "./pdf/hidden.ts";
import { overprints, spotsOf } from "./pdf/inspect.ts";
import { mixturesIn } from "./pdf/mixture.ts";
import { type Kept, keepPage } from "./pdf/keep.ts";
import { type Refusal, withPage } from "./pdf/pdfium.ts";
import { platesOf } from "./pdf/plates.ts";
import { purify } from "./purify.ts";
import { drawPage, type RenderOptions } from "./render-page.ts";
import type { Report } from "./report.ts";
import { separate } from "./separate.ts";
import { settle } from "./settle.ts";

const refuse = (refusal: Refusal, pages: number, report: Report): undefined => {
  if (refusal === "encrypted") report.say("artwork-encrypted", {});
  else if (refusal === "no-page") report.say("artwork-missing-page", { page: 1, pages });
  else report.say("artwork-unreadable", { what: "the PDF is damaged or cut off" });
  return undefined;
};

/** Opens a page of a PDF: its pixels for the bleed, and the page itself where it can stay vectors. */
export async function openPage(
  artwork: FileArtwork,
  press: Press,
  window: Window,
  limits: ResolutionLimits,
  report: Report,
): Promise<Opened | undefined> {
  const opened = await withPage(artwork.bytes, 0, ({ count }) => count);
  if ("refusal" in opened) return refuse(opened.refusal, 0, report);
  const pages = opened.value;
  const index = (artwork.page ?? 1) - 1;
  if (index >= pages) {
    report.say("artwork-missing-page", { page: index + 1, pages });
    return undefined;
  }
  if (pages > 1 && artwork.page === undefined) report.say("artwork-more-pages", { what: "PDF", pages });
  const taken = await takeApart(artwork, index, press, report);
  if (!taken) return undefined;
  const { kept, boxes } = taken;
  const [wide, high] = shownSize(boxes.fills, boxes.turn).map((side) => Math.round(side * 1000) / 1000) as [
    number,
    number,
  ];
  checkProportions(wide / high, artwork.box, `${wide} x ${high} points`, report);

  const place = placeOf(boxes, artwork.box);
  const pixel = 25_400 / press.resolution;
  const pixels = { width: Math.round(place.width / pixel), height: Math.round(place.height / pixel) };
  const crop = cropTo(window.box, place, pixels);
  if (!crop) {
    report.say("artwork-blank", { what: "page" });
    return undefined;
  }
  if (crop.width * crop.height > MOST_PIXELS) {
    report.say("artwork-oversized", {
      pixels: [crop.width, crop.height],
      most: MOST_PIXELS,
      box: [toMm(Math.round(place.width)), toMm(Math.round(place.height))],
    });
    return undefined;
  }
  look(taken, place, press, limits, report, artwork.behind);
  const renderer = await rendererOf(kept, press, report);
  if (kept.anatomy.transparent) report.say("artwork-transparent", { inks: renderer.inks });
  const drawn = await renderer.draw(pixels, crop);
  if ("refusal" in drawn) return refuse(drawn.refusal, pages, report);
  const draw = async (part: Crop, scale: number): Promise<Samples | undefined> => {
    const whole = { width: pixels.width * scale, height: pixels.height * scale };
    const [left, top] = [(crop.left + part.left) * scale, (crop.top + part.top) * scale];
    const finer = await renderer.draw(whole, { left, top, width: part.width * scale, height: part.height * scale });
    return "refusal" in finer ? undefined : finer;
  };
  const bytes = artwork.bytes.length;
  await purify(drawn, boxOf(crop, place, pixels), window.contours, { draw, bytes });
  const samples = await renderer.finish(coverage(drawn) === "opaque" ? withoutAlpha(drawn) : drawn);
  const { width, height, alpha, data, space } = samples;
  const spots =
    kept.reasons.length === 0 && spotsOf(kept.anatomy).length > 0 ? await mixturesIn(kept.page.bytes) : undefined;
  const separated = spots && (await separate(kept, press, { place, crop, pixels }));
  return {
    ...(separated ? { separated } : {}),
    grid: {
      width,
      height,
      channels: channelsOf(samples),
      depth: 8,
      data,
      alpha,
      box: boxOf(crop, place, pixels),
    },
    space,
    source: alpha ? "alpha" : "clean",
    ...(boxes.shown === boxes.fills ? {} : { bled: true as const }),
    ...(space === "rgb" ? { profile: srgb().bytes } : {}),
    ...(kept.reasons.length === 0
      ? { original: { kind: "page", page: { ...kept.page, ...(spots ? { spots } : {}) }, box: place } as const }
      : {}),
  };
}

/** What a page turned out to be. */
interface Taken {
  readonly kept: Kept;
  readonly boxes: PageBoxes;
}

/** The page taken out of its document; undefined when the report has the reason. */
const takeApart = async (
  artwork: FileArtwork,
  index: number,
  press: Press,
  report: Report,
): Promise<Taken | undefined> => {
  try {
    checkFile(artwork.bytes);
    const document = await read(artwork.bytes);
    const boxes = boxesOf(document.getPage(index).node, artwork.from);
    if (!hasArea(boxes.fills)) {
      report.say("artwork-page-empty", { box: artwork.from ?? "visible box" });
      return undefined;
    }
    if (boxes.missing) report.say("artwork-box-missing", { from: artwork.from ?? "trim" });
    const layers = hiddenLayers(document);
    if (layers.length > 0) report.say("artwork-hidden-layers", { layers });
    return { kept: await keepPage(document, index, boxes.shown, press), boxes };
  } catch (error) {
    const damage =
      error instanceof Broken
        ? { what: error.message, at: error.at }
        : { what: "its objects are not what they should be" };
    report.say("artwork-unreadable", damage);
    return undefined;
  }
};

/** L* of the middle of greys that print about as they were meant: 50 % of black ink is 65 (measured with both bundled profiles); gamma 1.25 is 71, 2.6 is 48. */
const USUAL_GREY = [47, 71] as const;

/** What a prepress desk looks for on a page that can be printed. */
const look = (
  { kept, boxes }: Taken,
  place: Rect,
  press: Press,
  limits: ResolutionLimits,
  report: Report,
  behind: FileArtwork["behind"],
): void => {
  const { anatomy, inspected, reasons, annotations } = kept;
  const toDrawing = toPlace(boxes, place);
  const at = (point: readonly [number, number]): readonly [number, number] => {
    const [x, y] = toDrawing(...point);
    return [Math.round(x) / 1000, Math.round(y) / 1000];
  };
  const shown = ([x, y]: readonly [number, number]): boolean => {
    const [left, bottom, right, top] = boxes.shown;
    return x >= left && x <= right && y >= bottom && y <= top;
  };
  if (anatomy.fontsMissing.size > 0) report.say("artwork-live-text", { fonts: [...anatomy.fontsMissing] });
  if (reasons.length > 0) report.say("artwork-rasterised", { resolution: press.resolution, reasons });
  if (annotations.blank.length > 0) report.say("artwork-form-blank", { fields: annotations.blank });
  if (annotations.drawn.length > 0) report.say("artwork-annotations", { drawn: annotations.drawn });
  for (const grey of anatomy.greys) {
    const middle = middleOfGrey(grey);
    if (middle === undefined || (middle >= USUAL_GREY[0] && middle <= USUAL_GREY[1])) continue;
    report.say("artwork-grey-curve", { middle });
    break;
  }
  const spots = spotsOf(anatomy);
  const gone = press.spots === "convert";
  if (spots.length > 0 && !gone) report.say("artwork-spots", { spots });
  if (spots.length > 0 && gone)
    report.say("artwork-spots-converted", { spots, as: kept.converted ?? new Map(), over: overprints(anatomy) });
  const tools = spots.filter(namesTool);
  if (tools.length > 0) report.say("artwork-tool-spot", { spots: tools });

  const { pictures, lines, whites, texts } = inspected;
  const [wide, high] = shownSize(boxes.shown, boxes.turn);
  const [across, down] = [place.width / wide, place.height / high];
  const [perX, perY] = boxes.turn % 180 === 0 ? [across, down] : [down, across];
  const sized = pictures.map(({ width, height, matrix: [a, b, c, d, e, f] }) => ({
    pixels: [width, height] as const,
    size: [Math.hypot(a * perX, b * perY), Math.hypot(c * perX, d * perY)] as const,
    at: at([e + (a + c) / 2, f + (b + d) / 2]),
  }));
  checkPlaced(sized, press, limits, report);
  const thin = lines
    .map((line) => ({ ...line, um: line.width * Math.sqrt(perX * perY) }))
    .filter((line) => line.um < THIN && shown(line.at))
    .sort((a, b) => a.um - b.um);
  const [thinnest] = thin;
  if (thinnest) report.say("artwork-line-thin", { width: thinnest.um / 1000, times: thin.length }, at(thinnest.at));
  const vanishing = whites.filter((white) => shown(white.at));
  const [first] = vanishing;
  const wrong = behind && texts.find((text) => text.mirrored === (behind === "back") && shown(text.at));
  if (behind && wrong)
    report.findings.push(say("back-text-mirrored", { ...report.where, at: at(wrong.at) }, { seen: behind }));
  if (first) report.say("artwork-white-overprints", { times: vanishing.length, what: first.what }, at(first.at));
};

type Size = { readonly width: number; readonly height: number };

/** How a page is drawn: in its own inks where they can be told apart, else by way of RGB. */
interface Renderer {
  /** What is translucent mixes in the press's own colours. */
  readonly inks: boolean;
  /** Part of the page at a size of the whole, with alpha, translucent paint settled on paper. */
  readonly draw: (whole: Size, part: Crop) => Promise<Samples | { readonly refusal: Refusal }>;
  /** To the press's colours. */
  readonly finish: (samples: Samples) => Promise<Samples>;
}

const rendererOf = async ({ page, plain, anatomy, reasons }: Kept, press: Press, report: Report): Promise<Renderer> => {
  const options = (whole: Size, { left, top, width, height }: Crop): RenderOptions => ({
    ...whole,
    region: { x: left, y: top, width, height },
    transparent: true,
  });
  const inked = anatomy.devices.has("cmyk") || anatomy.devices.has("grey") || anatomy.spots.size > 0;
  // Pages of RGB alone that mix it keep that mixing; with inks among them, the inks count.
  const plates =
    press.colour === "cmyk" && (inked || reasons.length === 0) ? await platesOf(page.bytes, press) : undefined;
  if (plates)
    return {
      inks: true,
      draw: async (whole, part) => {
        const inks = await plates.draw(options(whole, part));
        if (!inks) return { refusal: "damaged" };
        settle(inks);
        return inks;
      },
      finish: (inks) => Promise.resolve(inks),
    };
  if (press.colour === "cmyk" && inked)
    report.say("artwork-inks-changed", {
      why:
        reasons.length === 0
          ? "only of the bleed, the page itself keeps them"
          : "it holds colours that have no fixed inks",
    });
  const { bytes } = plain ?? page;
  return {
    inks: press.colour !== "cmyk" || reasons.length === 0,
    draw: async (whole, part) => {
      const drawn = await withPage(bytes, 0, (open) => drawPage(open, options(whole, part)));
      if ("refusal" in drawn) return drawn;
      const rgba: Samples = { ...drawn.value, space: "rgb", alpha: true };
      settle(rgba);
      return rgba;
    },
    finish: (rgba) => samplesToPress(rgba, press, { pureBlack: !anatomy.mixed }),
  };
};

/** The document as the PDF library sees it. */
const read = async (bytes: Uint8Array): Promise<PDFDocument> => {
  try {
    return await PDFDocument.load(bytes, { updateMetadata: false, throwOnInvalidObject: true, parseSpeed: Infinity });
  } catch (error) {
    const [why = ""] = (error as Error).message.split("\n");
    // The library ends with a place of its own making: {"line":4667,"column":0,"offset":252563}.
    const offset = /"offset":(\d+)/.exec(why)?.[1];
    if (offset !== undefined) throw new Broken("an object in it is not written as PDF wants it", Number(offset));
    throw new Broken(`its structure cannot be read (${why})`);
  }
};
