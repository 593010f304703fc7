import { grow, inset, mm, outlinesBounds, ringsOf, toMm, type Um } from "@kitforme/geometry";
import type { Artwork, Piece, Press } from "@kitforme/kit";
import { hasErrors, type Place } from "@kitforme/kit/findings";
import { checkInk } from "./artwork/check-ink.ts";
import { RESOLUTION, type ResolutionLimits } from "./artwork/check-resolution.ts";
import { openArtwork } from "./artwork/open.ts";
import type { Opened } from "./artwork/opened.ts";
import { isBlank } from "./artwork/over-paper.ts";
import { type Report, reportOn } from "./artwork/report.ts";
import { type BleedCache, makeBleed, type BlankRim } from "@kitforme/bleed";
import { checkEdge } from "./edge/check-edge.ts";
import { weighInk } from "./colour/weigh-ink.ts";
import { facesOf, withBack } from "./faces.ts";
import { layersOf, plainLayers } from "./layers.ts";
import type { Face, Layer, Prepared, PreparedPiece } from "./prepared.ts";
import { say } from "./words/bleed-words.ts";

/** What a piece is prepared with, beyond the press. */
export interface PrepareOptions {
  /** Pixels per inch at placed size to refuse and to warn below. */
  readonly resolution?: ResolutionLimits;
  /** Remembers the bleed's maps between pieces of one shape. */
  readonly cache?: BleedCache;
  /** Drawings stay vectors where a page can express them (true, when left out), or all become pixels. */
  readonly vectors?: boolean;
  /** A second renderer looks at every drawing too (true, when left out). */
  readonly twice?: boolean;
}

/** Artwork that stops this far short of the cut is carried out to it, unless the piece says otherwise. */
const GAP: Um = mm(0.3);
/** Pictures are read this far beyond the reach: the page around artwork tells its own bleed from paper. */
const AROUND: Um = mm(2);
/** Stretches of paper along the cut that are reported: shorter ones are details of the picture. */
const LEAST_STRETCH = 1;
/** Places of one finding; the rest are counted. */
const MOST_PLACES = 24;

/**
 * Makes a piece ready for press: opens and checks its artwork, rasterises what must be, brings colours to the press,
 * makes the missing bleed, and stacks the layers. Texts are set apart, by `setText`.
 *
 * A piece without artwork or without a press is cut only: its reach is its parts (that artwork meets a stock without a press
 * is reported where pieces are held against stocks). `value` is absent when the findings hold
 * an error. Same piece, same result, byte for byte.
 *
 * @param press what its stock is printed on; null for unprinted stock
 */
export async function prepare(
  piece: Piece,
  press: Press | null,
  options: PrepareOptions = {},
): Promise<Prepared<PreparedPiece>> {
  const faces = facesOf(piece);
  if (!faces) return prepareFace(piece, press, options);
  const front = await prepareFace(faces.front, press, options);
  return withBack(piece, front, await prepareFace(faces.back, press, options));
}

/** One side. */
async function prepareFace(
  piece: Piece,
  press: Press | null,
  options: PrepareOptions,
): Promise<Prepared<PreparedPiece>> {
  const { artwork } = piece;
  const report = reportOn(piece, artwork?.file);
  if (!artwork || !press) return finished({ piece, reach: piece.parts, layers: [], bleed: null }, report);

  const wanted = piece.bleed ?? press.bleed;
  const reach = grow(piece.parts, wanted);
  const window = { box: inset(outlinesBounds(reach), -AROUND), contours: ringsOf(piece.parts) };
  const { resolution = RESOLUTION, vectors = true, twice = true } = options;
  const opened = await openArtwork(artwork, press, window, { resolution, vectors, twice }, report);
  if (!opened) return { findings: report.findings };
  if (isBlank(opened.grid)) {
    reportBlank(piece, artwork, report);
    return finished({ piece, reach: piece.parts, layers: [], bleed: null }, report);
  }

  checkInk(opened.grid, ringsOf(reach), press, report);

  const made = bleedOf(opened, piece, { reach, wanted, cache: options.cache });
  if ("empty" in made) {
    report.findings.push(say("artwork-blank", placeOf(piece, artwork), { slots: false, inside: true }));
    const layers = plainLayers(opened, ringsOf(piece.parts));
    return finished({ piece, reach: piece.parts, layers, ...spotsOf(layers), bleed: null }, report);
  }
  reportRim(made.rim, piece, artwork, report);
  await checkEdge({ opened, made, parts: piece.parts, bleed: wanted }, press, report);
  const { own, least } = made;
  const layers = layersOf(opened, made, { parts: piece.parts, reach });
  const tiles = made.flattened ? [made.flattened] : made.tiles;
  const painted = { grid: opened.grid, tiles, parts: piece.parts, reach };
  const ink = press.colour === "cmyk" && weighInk(painted, opened.separated);
  const more = { ...spotsOf(layers), ...(ink ? { ink } : {}) };
  return finished({ piece, reach, layers, ...more, bleed: { wanted, least, own, made: made.made } }, report);
}

const finished = (value: PreparedPiece, { findings }: Report): Prepared<PreparedPiece> =>
  hasErrors(findings) ? { findings } : { value, findings };

const bleedOf = (
  { grid, source, bled }: Opened,
  { parts, spread, gap = GAP }: Piece,
  { reach, wanted, cache }: { reach: PreparedPiece["reach"]; wanted: Um; cache: BleedCache | undefined },
): ReturnType<typeof makeBleed> =>
  makeBleed({
    grid,
    parts,
    reach,
    bleed: wanted,
    source,
    ownBleed: bled ?? "auto",
    gap,
    spread,
    ...(cache ? { cache } : {}),
  });

const placeOf = ({ kit, piece, stock }: Piece, { file }: Artwork): Place => ({ kit, piece, stock, file });

const reportBlank = (piece: Piece, artwork: Artwork, report: Report): void => {
  const slots = artwork.kind === "drawing" && piece.slots.length > 0;
  report.findings.push(say("artwork-blank", placeOf(piece, artwork), { slots, inside: false }));
};

/** Artwork that ends inside the cut, once a piece: all round it is a design, here and there it may be a fault. */
const reportRim = (
  { allRound, length, blank, stretches }: BlankRim,
  piece: Piece,
  artwork: Artwork,
  { findings }: Report,
): void => {
  const where = placeOf(piece, artwork);
  const gap = toMm(piece.gap ?? GAP);
  if (allRound) {
    findings.push(say("artwork-inside", where, { gap }));
    return;
  }
  const long = stretches.filter((stretch) => stretch.length >= LEAST_STRETCH);
  const places = long.slice(0, MOST_PLACES).map(({ at }) => ({ ...where, at }));
  const [first] = places;
  if (!first) return;
  const finding = say("artwork-short", first, { gap, paper: blank, length, stretches: long.length });
  const more = long.length - places.length;
  findings.push({ ...finding, ...(places.length > 1 ? { places } : {}), ...(more > 0 ? { more } : {}) });
};

/** A face has one page at most: the artwork. */
const spotsOf = (layers: readonly Layer[]): Pick<Face, "spots"> => {
  const spots = layers.flatMap((layer) => (layer.kind === "page" && layer.page.spots ? [layer.page.spots] : []))[0];
  return spots ? { spots } : {};
};
