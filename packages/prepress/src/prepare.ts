import { grow, inset, mm, outlinesBounds, ringsOf, toMm, type Um } from "@kitforme/geometry";
import { type Artwork, hasErrors, type Piece, type Press } from "@kitforme/kit";
import { RESOLUTION, type ResolutionLimits } from "./artwork/check-resolution.ts";
import { openArtwork } from "./artwork/open.ts";
import type { Opened } from "./artwork/opened.ts";
import { isBlank } from "./artwork/over-paper.ts";
import { type Report, reportOn } from "./artwork/report.ts";
import { type BleedCache, type BleedMade, makeBleed } from "./bleed/index.ts";
import { layersOf, plainLayers } from "./layers.ts";
import type { Prepared, PreparedPiece } from "./prepared.ts";

export interface PrepareOptions {
  /** Pixels per inch at placed size to refuse and to warn below. */
  readonly resolution?: ResolutionLimits;
  /** Remembers the bleed's maps between pieces of one shape. */
  readonly cache?: BleedCache;
}

/** Artwork that stops this far short of the outline is drawn up to it; what is wider is told. */
const MOST_GAP: Um = mm(1);
/** Pictures are read this far beyond the reach: the page around artwork tells its own bleed from paper. */
const AROUND: Um = mm(2);
/** Gaps told one by one; the rest are summed. */
const GAPS_TOLD = 5;

/**
 * Makes a piece ready for press: opens and checks its artwork, rasters what must be rastered, brings colours to the press,
 * makes the missing bleed, and stacks the layers. Texts are set apart, by `setText`.
 *
 * A piece without artwork or without a press is cut only: its reach is its parts (that artwork meets a stock without a press
 * is told where pieces are held against stocks). `value` is absent when the findings hold
 * an error. Same piece, same result, byte for byte.
 *
 * @param press what its stock is printed on; null for unprinted stock
 */
export async function prepare(
  piece: Piece,
  press: Press | null,
  options: PrepareOptions = {},
): Promise<Prepared<PreparedPiece>> {
  const { artwork } = piece;
  const report = reportOn(piece, artwork?.file);
  if (!artwork || !press) return finished({ piece, reach: piece.parts, layers: [], bleed: null }, report);

  const wanted = piece.bleed ?? press.bleed;
  const reach = grow(piece.parts, wanted);
  const window = { box: inset(outlinesBounds(reach), -AROUND), contours: ringsOf(piece.parts) };
  const opened = await openArtwork(artwork, press, window, options.resolution ?? RESOLUTION, report);
  if (!opened) return { findings: report.findings };
  if (isBlank(opened.grid)) {
    tellBlank(piece, artwork, report);
    return finished({ piece, reach: piece.parts, layers: [], bleed: null }, report);
  }

  const made = bleedOf(opened, piece, { reach, wanted, cache: options.cache });
  if ("empty" in made) {
    report.add(
      "warning",
      "artwork-blank",
      "nothing opaque is drawn inside the outline: no bleed can be made",
      "check that the artwork lies on the piece",
    );
    const layers = plainLayers(opened, ringsOf(piece.parts));
    return finished({ piece, reach: piece.parts, layers, bleed: null }, report);
  }
  tellGaps(made, report);
  const { own, least } = made;
  const layers = layersOf(opened, made, { parts: piece.parts, reach }, MOST_GAP);
  return finished({ piece, reach, layers, bleed: { wanted, least, own, made: made.made } }, report);
}

const finished = (value: PreparedPiece, { findings }: Report): Prepared<PreparedPiece> =>
  hasErrors(findings) ? { findings } : { value, findings };

const bleedOf = (
  { grid, source, bled }: Opened,
  { parts, spread }: Piece,
  { reach, wanted, cache }: { reach: PreparedPiece["reach"]; wanted: Um; cache: BleedCache | undefined },
): ReturnType<typeof makeBleed> =>
  makeBleed({
    grid,
    parts,
    reach,
    bleed: wanted,
    source,
    ownBleed: bled ?? "auto",
    maxGap: MOST_GAP,
    spread,
    ...(cache ? { cache } : {}),
  });

const tellBlank = (piece: Piece, artwork: Artwork, report: Report): void => {
  const expected = artwork.kind === "drawing" && piece.slots.length > 0;
  report.add(
    expected ? "note" : "warning",
    "artwork-blank",
    expected ? "nothing but texts is printed" : "nothing is printed on this piece: the artwork paints nothing near it",
    'set "artwork" to null if that is meant',
  );
};

const tellGaps = ({ gaps }: BleedMade, report: Report): void => {
  const sorted = [...gaps].sort((a, b) => b.area - a.area || a.at[0] - b.at[0] || a.at[1] - b.at[1]);
  const hint = "draw the artwork to 3 mm beyond the outline, or leave it if the paper is meant to show";
  for (const { at, area } of sorted.slice(0, GAPS_TOLD))
    report.add(
      "warning",
      "artwork-short",
      `the artwork stops more than ${toMm(MOST_GAP)} mm short of the outline: ${area.toFixed(1)} mm2 of paper here`,
      hint,
      at,
    );
  const rest = sorted.slice(GAPS_TOLD);
  if (rest.length === 0) return;
  const area = rest.reduce((sum, gap) => sum + gap.area, 0).toFixed(1);
  report.add("warning", "artwork-short", `${rest.length} more places, together ${area} mm2 of paper`, hint);
};
