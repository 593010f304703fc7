import type { BleedMade } from "@kitforme/bleed";
import { type Outline, perimeter, ringsOf, toMm, type Um } from "@kitforme/geometry";
import type { Opened } from "../artwork/opened.ts";
import type { Report } from "../artwork/report.ts";
import { convert } from "../colour/engine.ts";
import { outputProfile, type PressColour, srgb } from "../colour/profile.ts";
import { say } from "../words/bleed-words.ts";
import { compareAtCut } from "./compare-at-cut.ts";

/** Places of one finding; the rest are counted. */
const MOST_PLACES = 24;

/**
 * Warns where the designer's own bleed is of another colour than the artwork at the cut: the picture was clipped at the cut line
 * over an artboard or a neighbour's picture, or a frame ends there. White and nothing are no own bleed and made by us, unless the
 * file says that it brings its bleed.
 */
export const checkEdge = async (
  {
    opened,
    made,
    parts,
    bleed,
  }: {
    readonly opened: Opened;
    readonly made: BleedMade;
    readonly parts: readonly Outline<"drawing">[];
    readonly bleed: Um;
  },
  press: PressColour,
  report: Report,
): Promise<void> => {
  const { grid } = opened;
  const runs = await compareAtCut({ grid, made, parts, bleed }, (values) => toLab(values, opened, press));
  const [first] = runs;
  if (!first) return;
  const places = runs.slice(0, MOST_PLACES).map(({ at }) => ({ ...report.where, at }));
  const finding = say("bleed-other-colour", places[0] as (typeof places)[number], {
    along: runs.reduce((sum, { length }) => sum + length, 0),
    length: toMm(ringsOf(parts).reduce((sum, ring) => sum + perimeter(ring), 0)),
    stretches: runs.length,
    inside: nameOf(first.inside),
    beyond: nameOf(first.beyond),
    off: first.off,
    bleed: toMm(bleed),
  });
  const more = runs.length - places.length;
  report.findings.push({ ...finding, ...(places.length > 1 ? { places } : {}), ...(more > 0 ? { more } : {}) });
};

/** A colour in the words of a press: inks in percent, light as in a drawing. */
const nameOf = (values: readonly number[]): string => {
  const percent = values.map((value) => Math.round(value / 2.55));
  if (values.length === 4)
    return percent.every((ink) => ink === 0) ? "white" : percent.map((ink, i) => `${"CMYK"[i]}${ink}`).join(" ");
  if (values.every((value) => value === 255)) return "white";
  if (values.length === 1) return `K${100 - (percent[0] as number)}`;
  return `#${values.map((value) => value.toString(16).padStart(2, "0")).join("")}`;
};

const toLab = (values: Uint8Array, { grid, profile }: Opened, press: PressColour): Promise<Uint8Array> => {
  const colours = grid.channels - (grid.alpha ? 1 : 0);
  if (colours === 4) return convert(values, (outputProfile(press) ?? srgb()).bytes, "lab", "relative");
  const rgb =
    colours === 3
      ? values
      : Uint8Array.from({ length: 3 * values.length }, (_, i) => values[Math.floor(i / 3)] as number);
  return convert(rgb, profile ?? srgb().bytes, "lab", "relative");
};
