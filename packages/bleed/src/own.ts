// Bleed that the picture has already. With alpha it is plain: opaque pixels that are joined to the region. Without, the background
// is as opaque as what is drawn on it, so what looks like background is no bleed: white, and a single flat colour that fills
// most of the band and is not met just inside the contour. Drawn white that is taken for background does no harm: the white
// is made again from the white inside.
import { reaching } from "./connected.ts";
import type { Frame } from "./frame.ts";
import type { Shown } from "./shown.ts";
import type { BleedRequest, PixelGrid } from "./request.ts";
import { block, count, dilate, disc, intersect, isEmpty, minus, type Runs, union } from "./runs.ts";
import { sift } from "./sift.ts";

/** How far a value may stray and still be background, of 255: JPEG rings around edges. */
const BACKGROUND_STRAY = { alpha: 2, clean: 2, jpeg: 20 };
/** Pixels around background pixels that are half background. */
const BACKGROUND_FRINGE = { alpha: 1, clean: 1, jpeg: 3 };
/** A flat colour is background when it fills this share of the band, and no more than this share of the edge inside. */
const BACKGROUND_SHARE = 0.6;
const EDGE_SHARE = 0.1;
/** A shape beyond the contour that goes no farther than this many pixels is fringe. */
const FRINGE = 4;

const blank = (grid: PixelGrid): number[] => {
  const full = grid.depth === 8 ? 255 : 65_535;
  const colours = grid.channels - (grid.alpha ? 1 : 0);
  return Array.from({ length: colours }, () => (colours === 4 ? 0 : full));
};

/** Says whether the pixel at a place has a colour, within a stray. */
const near = (grid: PixelGrid, colour: readonly number[], stray: number): ((at: number) => boolean) => {
  const { data } = grid;
  const most = grid.depth === 8 ? stray : stray * 257;
  return (at) => {
    for (let c = 0; c < colour.length; c++) if (Math.abs(data[at + c] - colour[c]) > most) return false;
    return true;
  };
};

/** The colour most pixels of the band have, when they are many enough and the edge inside has few. */
const flatPage = (frame: Frame, band: Runs, edge: Runs, stray: number): number[] | undefined => {
  const { grid } = frame;
  const shift = grid.depth === 8 ? 3 : 11;
  const colours = blank(grid).length;
  const seen = new Map<number, { n: number; at: number }>();
  sift(frame, band, (at) => {
    let key = 0;
    for (let c = 0; c < colours; c++) key = key * 32 + (grid.data[at + c] >> shift);
    const bin = seen.get(key);
    if (bin) bin.n++;
    else seen.set(key, { n: 1, at });
    return false;
  });
  let top = { n: 0, at: 0 };
  for (const bin of seen.values()) if (bin.n > top.n) top = bin;
  const colour = Array.from(grid.data.subarray(top.at, top.at + colours));
  const same = near(grid, colour, stray);
  const inBand = count(sift(frame, band, same));
  const inEdge = count(sift(frame, edge, same));
  return inBand >= BACKGROUND_SHARE * count(band) && inEdge <= EDGE_SHARE * count(edge) ? colour : undefined;
};

/**
 * Band pixels that the picture has drawn.
 * @param body the pixels inside the contour
 * @param edge those of them near it that the picture has
 * @param band the pixels around it that the picture has
 * @param shown what edge and band show
 */
export const ownBleed = (
  frame: Frame,
  request: BleedRequest,
  { body, edge, band, shown }: { body: Runs; edge: Runs; band: Runs; shown: Shown },
): Runs => {
  const { ownBleed: rule, source, grid } = request;
  const none = minus(band, band);
  if (rule === false || isEmpty(band)) return none;
  let drawn = band;
  if (grid.alpha && rule === true) drawn = intersect(union(shown.opaque, shown.white), band);
  else if (grid.alpha)
    // White beyond the contour is background, painted or not, and its edge is half background.
    drawn = minus(intersect(shown.opaque, band), dilate(shown.white, block(BACKGROUND_FRINGE.alpha), frame.width));
  else if (rule === "auto") {
    const close = intersect(edge, dilate(band, disc(16), frame.width));
    const stray = BACKGROUND_STRAY[source];
    const isBlank = near(frame.grid, blank(frame.grid), stray);
    const flat = flatPage(frame, band, close, stray);
    const isFlat = flat ? near(frame.grid, flat, stray) : isBlank;
    const background = sift(frame, band, (at) => isBlank(at) || isFlat(at));
    drawn = minus(band, dilate(background, block(BACKGROUND_FRINGE[source]), frame.width));
    // What is left hugging the contour is fringe as well: the edge of what is drawn, over the background.
    drawn = reaching(drawn, minus(drawn, dilate(body, disc(FRINGE * FRINGE), frame.width)));
  }
  if (isEmpty(drawn)) return none;
  // One step of reach across the contour: own bleed begins at the pixel beside it, or one further where that is fringe.
  const inside = grid.alpha ? shown.solid : edge;
  const joined = reaching(union(drawn, inside), intersect(inside, edge));
  return intersect(joined, drawn);
};
