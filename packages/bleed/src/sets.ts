// The sets of pixels of one request: what its contour gives, and what its pixels decide.
import { type Frame, onCanvas, pictured, pixels, ringsOf } from "./frame.ts";
import { ownBleed } from "./own.ts";
import { type Shown, shownOf } from "./shown.ts";
import { rasterise } from "./raster.ts";
import type { BleedRequest } from "./request.ts";
import { block, dilate, disc, intersect, isEmpty, minus, rectangle, type Runs, union } from "./runs.ts";
import { sourcesOf } from "./sources.ts";
import { stripOf } from "./strip.ts";

/** How far inside the contour, beyond the gap, a source may lie: fringe, residue and underlap. */
const INSIDE = 12;
/** Along the contour, µm, below which white of a picture that has nothing but full colour and blank is no gap but its texture. */
const TEXTURE = 1000;

/** Sets of one request that follow from its contour and its frame. */
export interface Sets {
  readonly picture: Runs;
  readonly body: Runs;
  readonly reach: Runs;
  readonly covered: Runs;
  readonly band: Runs;
  /** Of body: as far from the contour as the ring may look. */
  readonly zone: Runs;
  readonly rings: readonly Float64Array[];
}

export const setsOf = (frame: Frame, { parts, reach: around }: BleedRequest, gap: number): Sets => {
  const { width, rows } = frame;
  const rings = onCanvas(frame, ringsOf(parts));
  const body = rasterise(rings, width, rows);
  const reach = union(rasterise(onCanvas(frame, ringsOf(around)), width, rows), body);
  // Straddling pixels too: the clip divides them, and one ring more does no harm.
  const covered = dilate(reach, block(1), width);
  const outside = minus(rectangle(rows, 0, 0, width, rows), body);
  const deep = Math.ceil(gap) + INSIDE;
  return {
    picture: pictured(frame),
    body,
    reach,
    covered,
    band: minus(covered, body),
    zone: intersect(body, dilate(outside, disc(deep * deep), width)),
    rings,
  };
};

/** What the pixels of a request decide: its sources, and what is filled. */
export interface Decided {
  readonly zone: Runs;
  /** Of zone: the pixels along the contour. */
  readonly edge: Runs;
  readonly shown: Shown;
  readonly own: Runs;
  readonly open: Runs;
  readonly strip: Runs;
  readonly source: Runs;
}

/** @returns nothing when the region shows no colour at all */
export const decide = (frame: Frame, request: BleedRequest, sets: Sets, gap: number): Decided | undefined => {
  const { picture, body, covered, band, zone, rings } = sets;
  const { width } = frame;
  const kind = request.source;
  const shown = shownOf(frame, union(zone, band), picture, kind);
  if (isEmpty(intersect(body, picture))) return undefined;
  if (request.grid.alpha && isEmpty(intersect(shown.seen, zone)) && isEmpty(shownOf(frame, body, picture, kind).seen))
    return undefined;
  const edge = intersect(zone, picture);
  const own = ownBleed(frame, request, { body, edge, band: intersect(band, picture), shown });
  const open = minus(band, own);
  const texture = shown.twoLevel ? pixels(frame, TEXTURE) : 0;
  const strip = stripOf({ body, width, open, shown, gap, least: Math.max(2, gap, texture) });
  const opaque = union(shown.opaque, shown.white);
  const drawn = { picture, body, zone, strip, shown, own, covered, rings, width };
  const atCut = intersect(zone, dilate(band, block(1), width));
  return {
    zone,
    edge: atCut,
    shown,
    own,
    open,
    strip,
    source: sourcesOf(drawn, kind, (set) => intersect(set, opaque)),
  };
};
