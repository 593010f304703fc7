import { fromPoints } from "@kitforme/geometry";
import type { Weight } from "./bundled.ts";
import { bundledTypeface } from "./bundled.ts";
import { cleanText } from "./clean.ts";
import { pathData } from "./outline.ts";
import { segment } from "./segment.ts";
import { placeLine, type ShapedLine, shapeLine } from "./shape.ts";

/** How a line of our own words is set. */
export interface LineStyle {
  /** Type size in points. */
  readonly size: number;
  /** Where the origin lies on the line. Default `left`. */
  readonly align?: "left" | "centre" | "right";
  /** Default `regular`. */
  readonly weight?: Weight;
  /** Where the origin is put, micrometres. Default [0, 0]. */
  readonly at?: readonly [x: number, y: number];
}

/** A line of kitforme's own words. Micrometres, y up, baseline through the origin. */
export interface SetLine {
  /** Absolute path data of `M L C Q Z`, to be filled nonzero; empty for an empty text. */
  readonly outlines: string;
  /** How far the pen went. */
  readonly width: number;
  /** Height above and depth below the baseline that the font keeps for a line; both positive. */
  readonly ascent: number;
  readonly descent: number;
}

/**
 * The line with its ink pressed into the height that the font keeps: a pile of eight accents in an order's name stays on
 * its own line, small but all there. Ordinary letters of every language the font has lie inside anyway.
 */
const within = (line: ShapedLine, ascent: number, descent: number): ShapedLine => {
  const { top = 0, bottom = 0 } = line.ink ?? {};
  const squeeze = Math.min(top > ascent ? ascent / top : 1, bottom < -descent ? descent / -bottom : 1);
  return squeeze === 1 ? line : { ...line, squeeze };
};

/**
 * Sets a line of our own words (slug, docket, legend) in the bundled font. What the font does not cover is shown as U+FFFD:
 * these words inform the operator and must not stop a job.
 */
export const setLine = (
  text: string,
  { size, align = "left", weight = "regular", at = [0, 0] }: LineStyle,
): SetLine => {
  const face = bundledTypeface(weight);
  const asked = cleanText(text).text;
  const { missing } = segment(asked, [face]);
  const shown = missing.reduce((line, cluster) => line.replaceAll(cluster, "\ufffd"), asked);
  const line = within(shapeLine(shown, segment(shown, [face]).runs), face.ascent, face.descent);
  const em = fromPoints(size);
  const width = line.advance * em;
  const shift = { left: 0, centre: -width / 2, right: -width }[align];
  return {
    outlines: pathData(placeLine(line, em, at[0] + shift, at[1], 1)),
    width,
    ascent: face.ascent * em,
    descent: face.descent * em,
  };
};

/** Clusters of a text that the bundled font has not, each once: in a line of our own words they would be shown as U+FFFD. */
export const lettersMissing = (text: string): readonly string[] =>
  segment(cleanText(text).text, [bundledTypeface("regular")]).missing;
