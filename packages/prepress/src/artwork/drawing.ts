import { overlapOf, type Rect } from "@kitforme/geometry";
import type { DrawingParts, Press } from "@kitforme/kit";
import { channelsOf, coverage, type Samples, withoutAlpha } from "../colour/samples.ts";
import { samplesToPress } from "../colour/to-press.ts";
import { srgb } from "../colour/profile.ts";
import { tell } from "../words/drawing-words.ts";
import { boxOf } from "./crop.ts";
import { checkProportions } from "./check-resolution.ts";
import { MOST_PIXELS, openImage } from "./limits.ts";
import type { Opened, Window } from "./opened.ts";
import type { Report } from "./report.ts";
import { plainPictures } from "./plain-pictures.ts";
import { scanSvg } from "./scan-svg.ts";
import { purify } from "./purify.ts";
import { drawAgain } from "./second-renderer.ts";
import { seeTwice } from "./see-twice.ts";
import { setDrawingText } from "./set-drawing-text.ts";
import { settle } from "./settle.ts";
import { readRoot, viewOf, withRoot } from "./svg-root.ts";
import { type KeptVector, keepVector, type VectorSource } from "../vector/keep-vector.ts";

/**
 * A drawing and the box that its view fills. `beyond`: whether what is drawn outside the view belongs to it; `vectors`: whether
 * it may be shown as a page of vectors; `twice`: whether a second renderer looks at it too.
 */
export interface Drawing {
  readonly svg: string;
  readonly box: Rect;
  readonly beyond: boolean;
  readonly vectors: boolean;
  readonly twice: boolean;
  /** Fonts, texts and pictures of a drawing that the kit has read. */
  readonly parts?: DrawingParts;
}

/** Text above this many bytes needs the XML reader's limits lifted; entities, which those limits are for, are refused. */
const LONG = 10_000_000;

/**
 * Draws an SVG within the window at the press's resolution, through librsvg. The root's view is moved to the window and its
 * size given in pixels: physical sizes are scaled twice by sharp (1 in at 300 dpi became 1250 px). At density 96 one pixel
 * takes 0.75 px of root size exactly, and millimetres inside the drawing still mean 1/25.4 of 96 px.
 *
 * Exactly black paint becomes black ink alone, but for drawings with gradients, filters or pictures, where black may be
 * the end of a shadow.
 */
export async function openDrawing(
  asRead: Drawing,
  press: Press,
  window: Window,
  report: Report,
): Promise<Opened | undefined> {
  const facts = scanSvg(asRead.svg);
  if (facts.entities) {
    report.say("artwork-unreadable", {
      what: "the drawing declares entities of its own",
      remedy: "Export it as plain SVG",
    });
    return undefined;
  }
  if (facts.external.length > 0) {
    tell(report, "artwork-external-reference", { names: facts.external });
    return undefined;
  }
  const pictured = await plainPictures(asRead.svg, asRead.parts ?? {}, press, report);
  const set = pictured === undefined ? undefined : await setDrawingText(pictured, asRead.parts ?? {}, report);
  if (pictured === undefined || !set) return undefined;
  const drawing = { ...asRead, svg: set.svg };
  const root = readRoot(drawing.svg);
  const view = root && viewOf(root);
  if (!root || !view) {
    const missing = root ? "the drawing has neither a viewBox nor a size" : "the file does not begin as an SVG";
    report.say("artwork-unreadable", { what: missing, remedy: "Export it as plain SVG with a viewBox" });
    return undefined;
  }
  const [, , viewWidth, viewHeight] = view;
  if (!drawing.beyond)
    checkProportions(viewWidth / viewHeight, drawing.box, `${viewWidth} x ${viewHeight} units`, report);

  const seen = drawing.beyond ? window.box : overlapOf(window.box, drawing.box);
  if (!seen?.width || !seen.height) {
    report.say("artwork-blank", { what: "drawing" });
    return undefined;
  }
  const pixel = 25_400 / press.resolution;
  const [width, height] = [Math.ceil(seen.width / pixel), Math.ceil(seen.height / pixel)];
  if (width * height > MOST_PIXELS) {
    report.say("artwork-oversized", { pixels: [width, height], most: MOST_PIXELS });
    return undefined;
  }
  const box: Rect = { x: seen.x, y: seen.y, width: width * pixel, height: height * pixel };
  const style = unsized(root.attributes.get("style"));
  const drawIn = (part: Rect, wide: number, high: number, settled = true): Promise<Samples> =>
    draw(withRoot(root, { ...rootFor(view, drawing.box, part, wide, high), style }), wide, high, settled);
  let rgba: Samples;
  try {
    rgba = await drawIn(box, width, height);
    if (drawing.svg.length <= HEAVY)
      await purify(rgba, box, window.contours, {
        draw: (region, scale) =>
          drawIn(boxOf(region, box, { width, height }), region.width * scale, region.height * scale),
        bytes: drawing.svg.length,
      });
  } catch {
    report.say("artwork-unreadable", {
      what: "the drawing cannot be drawn",
      remedy: "Export it again as plain SVG, without effects",
    });
    return undefined;
  }
  const live = drawing.twice && pictured !== set.svg ? readRoot(pictured) : root;
  const again = (part: Rect, wide: number, high: number): Promise<{ readonly rgba: Uint8Array }> =>
    drawAgain(
      withRoot(live ?? root, { ...rootFor(view, drawing.box, part, wide / 0.75, high / 0.75), style }),
      set.fonts,
    );
  if (drawing.twice)
    await seeTwice(
      seen,
      {
        first: async (part, wide, high) => (await drawIn(part, wide, high, false)).data,
        second: async (part, wide, high) => (await again(part, wide, high)).rgba,
      },
      report,
    );
  const source: VectorSource = {
    svg: withRoot(root, { ...rootFor(view, drawing.box, box, width, height), style }),
    shown: shownIn(view, drawing.box, box),
    box,
    pureBlack: !facts.shaded,
    pixels: width * height,
    draw: async (wide, high) => (await drawIn(box, wide, high, false)).data,
  };
  const painted = drawing.vectors && coverage(rgba) !== "blank";
  const kept: KeptVector | undefined = painted ? await keepVector(source, press) : undefined;
  if (kept && "obstacle" in kept)
    tell(report, "drawing-pixels", { what: kept.obstacle, resolution: press.resolution }, kept.at);
  else if (kept?.thin)
    report.say("artwork-line-thin", { width: kept.thin.width / 1000, times: kept.thin.times }, kept.thin.at);
  const covered = coverage(rgba);
  const samples = await samplesToPress(covered === "opaque" ? withoutAlpha(rgba) : rgba, press, {
    pureBlack: !facts.shaded,
  });
  return {
    grid: { width, height, channels: channelsOf(samples), depth: 8, data: samples.data, alpha: samples.alpha, box },
    space: samples.space,
    source: samples.alpha ? "alpha" : "clean",
    ...(samples.space === "rgb" ? { profile: srgb().bytes } : {}),
    ...(kept && "page" in kept ? { original: { kind: "page", page: kept.page, box, many: true } as const } : {}),
  };
}

/** Text above this length is read once and no more: 100,000 shapes take librsvg two seconds every time. */
const HEAVY = 4_000_000;

/** Root attributes that show `box` of a drawing whose `view` fills `whole`. */
const rootFor = (
  view: readonly [number, number, number, number],
  whole: Rect,
  box: Rect,
  pixelsWide: number,
  pixelsHigh: number,
): Record<string, string | undefined> => ({
  x: undefined,
  y: undefined,
  width: `${pixelsWide * 0.75}`,
  height: `${pixelsHigh * 0.75}`,
  viewBox: shownIn(view, whole, box).join(" "),
  preserveAspectRatio: "none",
});

/** The part of a drawing in `box`, in user units, where its `view` fills `whole`. */
const shownIn = (
  [x, y, width, height]: readonly [number, number, number, number],
  whole: Rect,
  box: Rect,
): readonly [number, number, number, number] => {
  const across = width / whole.width;
  const down = height / whole.height;
  return [x + (box.x - whole.x) * across, y + (box.y - whole.y) * down, box.width * across, box.height * down];
};

/** A style without width and height, which would win over the attributes. */
const unsized = (style: string | undefined): string | undefined =>
  style
    ?.split(";")
    .filter((one) => !/^\s*(?:width|height)\s*:/i.test(one))
    .join(";");

/** sRGB with alpha, translucent paint settled on paper where that is asked for. Throws what librsvg has to say. */
const draw = async (svg: string, width: number, height: number, settled: boolean): Promise<Samples> => {
  const bytes = Buffer.from(svg);
  const image = openImage(bytes, { density: 96, unlimited: bytes.length > LONG });
  const { data, info } = await image.toColourspace("srgb").ensureAlpha().raw().toBuffer({ resolveWithObject: true });
  if (info.width !== width || info.height !== height)
    throw new Error(`drawn at ${info.width} x ${info.height} instead of ${width} x ${height}`);
  const rgba: Samples = { width, height, space: "rgb", alpha: true, data };
  if (settled) settle(rgba);
  return rgba;
};
