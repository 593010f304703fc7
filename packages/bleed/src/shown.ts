// What pixels show: colour that hides the white beneath, colour through which it is seen, or nothing. White is blank, whether a
// drawing leaves it out or paints it.
import type { Frame } from "./frame.ts";
import { coloursOf, fullOf } from "./gather.ts";
import type { BleedRequest } from "./request.ts";
import { block, dilate, intersect, isEmpty, minus, type Runs, union } from "./runs.ts";
import { sorted } from "./sift.ts";

export interface Shown {
  /** Colour that hides the white beneath, and wide washes: drawn that way, they give their colour as it looks over white. */
  readonly solid: Runs;
  /** Nothing: transparent, or white. */
  readonly blank: Runs;
  /** Of the blank pixels: painted white. */
  readonly white: Runs;
  /** Partly transparent: the edge of what is drawn. */
  readonly partial: Runs;
  /** Solid, and what of partial an eye would see; and the rest of partial. */
  readonly seen: Runs;
  readonly tinge: Runs;
  /** Of solid: opaque. */
  readonly opaque: Runs;
  /** Nothing but full colour and blank, as in one-bit pictures: its white between dots is no gap. */
  readonly twoLevel: boolean;
}

/** Colour, of 255, up to which a value is blank: what colour conversion leaves of white. */
const BLANK = 2;
/** The same for a JPEG, and the noise that it puts around edges on white, at most a block of 8 pixels away. */
const JPEG_BLANK = 3;
const JPEG_NOISE = 24;
const JPEG_BLOCK = block(8);
/** Colour, of 255, from which a partly transparent pixel shows. */
const VISIBLE = 20;
/** Pixels around blank ones that are fringe, however soft: enlarged pictures fade over four. */
const FADE = block(4);

const BARE = 0;
const WHITE = 1;
const NOISE = 2;
const DRAWN = 3;
const VEIL = 4;
const TINGE = 5;

/** How far a pixel is from white, of 255: by its strongest channel. */
const strengthOf = (frame: Frame): ((at: number) => number) => {
  const { grid } = frame;
  const { data } = grid;
  const colours = coloursOf(grid);
  const full = fullOf(grid);
  const blank = colours === 4 ? 0 : full;
  const scale = 255 / full;
  return (at) => {
    let most = 0;
    for (let c = 0; c < colours; c++) {
      const away = Math.abs(data[at + c] - blank);
      if (away > most) most = away;
    }
    const covered = grid.alpha ? data[at + colours] / full : 1;
    return most * covered * scale;
  };
};

/**
 * What a set of pixels shows.
 * @param picture the canvas's pixels that the picture has; beyond it all is blank
 */
export const shownOf = (frame: Frame, set: Runs, picture: Runs, source: BleedRequest["source"]): Shown => {
  const { grid } = frame;
  const strength = strengthOf(frame);
  const full = fullOf(grid);
  const last = grid.channels - 1;
  const blankMost = source === "jpeg" ? JPEG_BLANK : BLANK;
  let strongest = true;
  const kindOf = (at: number): number => {
    const alpha = grid.alpha ? grid.data[at + last] : full;
    if (alpha === 0) return BARE;
    const level = strength(at);
    // Partly transparent white is blank.
    if (alpha < full && level <= blankMost) return BARE;
    if (alpha < full) return level >= VISIBLE ? VEIL : TINGE;
    if (level <= blankMost) return WHITE;
    if (level < 255) strongest = false;
    return source === "jpeg" && level <= JPEG_NOISE ? NOISE : DRAWN;
  };
  const [bare, white, noise, coloured, veil, tinge] = sorted(frame, intersect(set, picture), 6, kindOf) as [
    Runs,
    Runs,
    Runs,
    Runs,
    Runs,
    Runs,
  ];
  const besideWhite = intersect(noise, dilate(white, JPEG_BLOCK, frame.width));
  const opaque = union(coloured, minus(noise, besideWhite));
  const faint = union(veil, tinge);
  const wash = minus(faint, dilate(bare, FADE, frame.width));
  const solid = union(opaque, wash);
  const painted = union(white, besideWhite);
  return {
    solid,
    blank: union(union(painted, bare), minus(set, picture)),
    white: painted,
    partial: minus(faint, wash),
    seen: union(solid, veil),
    tinge: minus(tinge, wash),
    opaque,
    twoLevel: strongest && isEmpty(faint),
  };
};
