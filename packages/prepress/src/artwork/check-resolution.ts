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

/** A picture whose sides differ from its box by more than this share is reported. */
const STRETCH = 0.01;

const ppi = (pixels: number, um: number): number => (pixels * 25_400) / um;

/** Pixels per inch of each axis at placed size. */
export const resolutionOf = (
  { width, height }: { readonly width: number; readonly height: number },
  box: Rect,
): { readonly x: number; readonly y: number } => ({ x: ppi(width, box.width), y: ppi(height, box.height) });

/** Width and height in whole micrometres of a box that may be fractional, in millimetres. */
const sizeOf = (width: number, height: number): readonly [number, number] => [
  toMm(Math.round(width)),
  toMm(Math.round(height)),
];

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
    report.say("resolution-low", {
      what: "",
      pixels: [pixels.width, pixels.height],
      size: sizeOf(box.width, box.height),
      ppi: [x, y],
      refuse: limits.refuse,
      warn,
      wanted: [wanted.x, wanted.y],
      resolution: press.resolution,
      refused: least < limits.refuse - 0.5,
    });
  }
  checkProportions(pixels.width / pixels.height, box, `${pixels.width} x ${pixels.height} pixels`, report);
};

/** Pictures smaller than this are ornaments and shadows: nobody sees their pixels. */
const SMALL: Um = mm(5);

/** A picture of one or two pixels a side is a flat colour or the steps of a gradient. */
const FLAT = 2;

/** A picture that a page places. */
export interface SizedPicture {
  readonly pixels: readonly [number, number];
  /** What its pixels are spread over. */
  readonly size: readonly [x: Um, y: Um];
  /** Where it is, mm of the drawing. */
  readonly at: readonly [x: number, y: number];
}

/** Checks the pictures that a page places by the limits of pictures that come as files, each by its two axes; the coarsest is reported. */
export const checkPlaced = (
  placed: readonly SizedPicture[],
  press: Pick<Press, "resolution">,
  limits: ResolutionLimits,
  report: Report,
): void => {
  const seen = placed
    .filter(({ pixels, size }) => Math.min(...size) >= SMALL && Math.min(...pixels) > FLAT)
    .map((one) => ({ ...one, ppi: [ppi(one.pixels[0], one.size[0]), ppi(one.pixels[1], one.size[1])] as const }))
    .sort((a, b) => Math.min(...a.ppi) - Math.min(...b.ppi));
  const [worst] = seen;
  const warn = Math.min(limits.warn, press.resolution);
  if (!worst || Math.min(...worst.ppi) >= warn - 0.5) return;
  const pixelsFor = (um: Um): number => Math.ceil((um * press.resolution) / 25_400);
  report.say(
    "resolution-low",
    {
      what: "A picture in the page has too few pixels: ",
      pixels: worst.pixels,
      size: sizeOf(Math.round(worst.size[0] / 100) * 100, Math.round(worst.size[1] / 100) * 100),
      ppi: worst.ppi,
      refuse: limits.refuse,
      warn,
      wanted: [pixelsFor(worst.size[0]), pixelsFor(worst.size[1])],
      resolution: press.resolution,
      refused: Math.min(...worst.ppi) < limits.refuse - 0.5,
    },
    worst.at,
  );
};

/** Tells when a picture of one proportion is stretched into a box of another. */
export const checkProportions = (proportion: number, box: Rect, what: string, report: Report): void => {
  const stretch = proportion / (box.width / box.height);
  if (Math.abs(Math.log(stretch)) <= Math.log(1 + STRETCH)) return;
  const percent = Math.abs(100 * (1 - (stretch > 1 ? stretch : 1 / stretch)));
  report.say("artwork-stretched", { what, size: sizeOf(box.width, box.height), percent, down: stretch > 1 });
};
