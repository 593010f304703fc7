import { mm, type Rect, toMm, type Um } from "@kitforme/geometry";
import type { Press } from "@kitforme/kit";
import type { Report } from "./report.ts";

/** Pixels per inch below which a picture is refused, and below which it is only warned about. */
export interface ResolutionLimits {
  readonly refuse: number;
  readonly warn: number;
}

/** Common practice at final size, no normative source: 300 wanted, 240 to 300 fine, 150 to 240 seen, below 150 refused. */
export const RESOLUTION: ResolutionLimits = { refuse: 150, warn: 240 };

/** A picture whose sides differ from its box by more than this share is told of. */
const STRETCH = 0.01;

const ppi = (pixels: number, um: number): number => (pixels * 25_400) / um;

/** Pixels per inch of each axis at placed size. */
export const resolutionOf = (
  { width, height }: { readonly width: number; readonly height: number },
  box: Rect,
): { readonly x: number; readonly y: number } => ({ x: ppi(width, box.width), y: ppi(height, box.height) });

const millimetres = (box: Rect): string => `${toMm(box.width)} x ${toMm(box.height)} mm`;

/** Checks a picture's pixels against the size it is placed at, per axis: the lower one counts. */
export const checkResolution = (
  pixels: { readonly width: number; readonly height: number },
  box: Rect,
  press: Pick<Press, "resolution">,
  limits: ResolutionLimits,
  report: Report,
): void => {
  const { x, y } = resolutionOf(pixels, box);
  const least = Math.min(x, y);
  const warn = Math.min(limits.warn, press.resolution);
  // Half a pixel per inch of grace: boxes are rounded to micrometres, and 299.8 is 300 to everyone.
  if (least < warn - 0.5) {
    const wanted = {
      x: Math.ceil((box.width * press.resolution) / 25_400),
      y: Math.ceil((box.height * press.resolution) / 25_400),
    };
    report.add(
      least < limits.refuse - 0.5 ? "error" : "warning",
      "resolution-low",
      `${pixels.width} x ${pixels.height} pixels over ${millimetres(box)} are ${x.toFixed(0)} x ${y.toFixed(0)} ppi; ` +
        `below ${warn} ppi it shows, below ${limits.refuse} ppi it is refused`,
      `hand in at least ${wanted.x} x ${wanted.y} pixels for ${press.resolution} ppi, or place it smaller`,
    );
  }
  checkProportions(pixels.width / pixels.height, box, `${pixels.width} x ${pixels.height} pixels`, report);
};

/** Pictures smaller than this are ornaments and shadows: nobody sees their pixels. */
const SMALL: Um = mm(5);

/** A picture of one or two pixels a side is a flat colour or the steps of a gradient. */
const FLAT = 2;

/**
 * Checks the pictures that a page places, each by its two axes; the coarsest is told, once. Never more than a warning: the
 * shadows that drawing programs leave in pages are coarse by intent.
 *
 * @param placed pixels, and the lengths they are spread over
 */
export const checkPlaced = (
  placed: readonly { readonly pixels: readonly [number, number]; readonly size: readonly [x: Um, y: Um] }[],
  press: Pick<Press, "resolution">,
  limits: ResolutionLimits,
  report: Report,
): void => {
  const seen = placed
    .filter(({ pixels, size }) => Math.min(...size) >= SMALL && Math.min(...pixels) > FLAT)
    .map((one) => ({ ...one, least: Math.min(ppi(one.pixels[0], one.size[0]), ppi(one.pixels[1], one.size[1])) }))
    .sort((a, b) => a.least - b.least);
  const [worst] = seen;
  if (!worst || worst.least >= Math.min(limits.warn, press.resolution) - 0.5) return;
  const [width, height] = worst.size.map((um) => toMm(Math.round(um / 100) * 100));
  report.add(
    "warning",
    "resolution-low",
    `a picture in the page has ${worst.pixels.join(" x ")} pixels over ${width} x ${height} mm: ${worst.least.toFixed(0)} ppi`,
    `put a picture of ${press.resolution} ppi into the page`,
  );
};

/** Tells when a picture of one proportion is stretched into a box of another. */
export const checkProportions = (proportion: number, box: Rect, what: string, report: Report): void => {
  const stretch = proportion / (box.width / box.height);
  if (Math.abs(Math.log(stretch)) <= Math.log(1 + STRETCH)) return;
  const percent = Math.abs(100 * (1 - (stretch > 1 ? stretch : 1 / stretch))).toFixed(1);
  report.add(
    "warning",
    "artwork-stretched",
    `${what} fill a box of ${millimetres(box)}: stretched by ${percent} % ${stretch > 1 ? "down the page" : "across"}`,
    "give the box the proportions of the picture",
  );
};
