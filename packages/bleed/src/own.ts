// The designer's own bleed. With alpha it is plain: opaque ink that is joined to the piece. Without, the page around the
// artwork is as opaque as the artwork, so what looks like page is no bleed: paper white, and a single flat colour that fills
// most of the band and is not met just inside the contour. White artwork that is taken for page does no harm: the white is
// made again from the white inside.
import { reaching } from "./connected.ts";
import type { Frame } from "./frame.ts";
import type { Printed } from "./printed.ts";
import type { BleedRequest, PixelGrid } from "./request.ts";
import { block, count, dilate, disc, intersect, isEmpty, minus, type Runs, union } from "./runs.ts";
import { sift } from "./sift.ts";

/** How far a value may stray and still be page, of 255: JPEG rings around edges. */
const PAGE_STRAY = { alpha: 2, clean: 2, jpeg: 20 };
/** Pixels around page pixels that are half page. */
const PAGE_FRINGE = { alpha: 1, clean: 1, jpeg: 3 };
/** A flat colour is page when it fills this share of the band, and no more than this share of the edge inside. */
const PAGE_SHARE = 0.6;
const EDGE_SHARE = 0.1;
/** A shape beyond the contour that goes no farther than this many pixels is fringe. */
const FRINGE = 4;

const paper = (grid: PixelGrid): number[] => {
  const full = grid.depth === 8 ? 255 : 65_535;
  const colours = grid.channels - (grid.alpha ? 1 : 0);
  return Array.from({ length: colours }, () => (colours === 4 ? 0 : full));
};

/** Says whether the pixel at a place has a colour, within a stray. */
const near = (grid: PixelGrid, colour: readonly number[], stray: number): ((at: number) => boolean) => {
  const { data } = grid;
  const most = grid.depth === 8 ? stray : stray * 257;
  return (at) => {
    for (let c = 0; c < colour.length; c++)
      if (Math.abs((data[at + c] as number) - (colour[c] as number)) > most) return false;
    return true;
  };
};

/** The colour most pixels of the band have, when they are many enough and the edge inside has few. */
const flatPage = (frame: Frame, band: Runs, edge: Runs, stray: number): number[] | undefined => {
  const { grid } = frame;
  const shift = grid.depth === 8 ? 3 : 11;
  const colours = paper(grid).length;
  const seen = new Map<number, { n: number; at: number }>();
  sift(frame, band, (at) => {
    let key = 0;
    for (let c = 0; c < colours; c++) key = key * 32 + ((grid.data[at + c] as number) >> shift);
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
  return inBand >= PAGE_SHARE * count(band) && inEdge <= EDGE_SHARE * count(edge) ? colour : undefined;
};

/**
 * Band pixels that the designer has drawn.
 * @param body the pixels inside the contour
 * @param edge those of them near it that the picture has
 * @param band the pixels around it that the picture has
 * @param printed what edge and band print
 */
export const ownBleed = (
  frame: Frame,
  request: BleedRequest,
  { body, edge, band, printed }: { body: Runs; edge: Runs; band: Runs; printed: Printed },
): Runs => {
  const { ownBleed: rule, source, grid } = request;
  const none = minus(band, band);
  if (rule === false || isEmpty(band)) return none;
  let drawn = band;
  if (grid.alpha && rule === true) drawn = intersect(union(printed.opaque, printed.white), band);
  else if (grid.alpha)
    // White beyond the cut is ground, painted or not, and its edge is half ground.
    drawn = minus(intersect(printed.opaque, band), dilate(printed.white, block(PAGE_FRINGE.alpha), frame.width));
  else if (rule === "auto") {
    const close = intersect(edge, dilate(band, disc(16), frame.width));
    const stray = PAGE_STRAY[source];
    const isPaper = near(frame.grid, paper(frame.grid), stray);
    const flat = flatPage(frame, band, close, stray);
    const isFlat = flat ? near(frame.grid, flat, stray) : isPaper;
    const page = sift(frame, band, (at) => isPaper(at) || isFlat(at));
    drawn = minus(band, dilate(page, block(PAGE_FRINGE[source]), frame.width));
    // What is left hugging the contour is fringe as well: the artwork's edge, drawn over the page.
    drawn = reaching(drawn, minus(drawn, dilate(body, disc(FRINGE * FRINGE), frame.width)));
  }
  if (isEmpty(drawn)) return none;
  // One step of reach across the contour: own bleed begins at the pixel beside it, or one further where that is fringe.
  const inside = grid.alpha ? printed.solid : edge;
  const joined = reaching(union(drawn, inside), intersect(inside, edge));
  return intersect(joined, drawn);
};
