// What pixels print: ink that hides the paper, ink through which it shows, or nothing. White is paper: on a press it is no ink,
// whether a drawing leaves it out or paints it.
import type { Frame } from "./frame.ts";
import { coloursOf, fullOf } from "./gather.ts";
import type { BleedRequest } from "./request.ts";
import { block, dilate, intersect, isEmpty, minus, type Runs, union } from "./runs.ts";
import { sorted } from "./sift.ts";

export interface Printed {
  /** Ink that hides the paper, and wide washes: drawn that way, they give their colour as it prints. */
  readonly solid: Runs;
  /** Nothing: transparent, or white. */
  readonly paper: Runs;
  /** Of paper: painted white. */
  readonly white: Runs;
  /** Partly transparent: the edge of artwork. */
  readonly partial: Runs;
  /** Solid, and what of partial an eye would see; and the rest of partial. */
  readonly seen: Runs;
  readonly tinge: Runs;
  /** Of solid: opaque. */
  readonly opaque: Runs;
  /** Nothing but full ink and paper, as in one-bit pictures: its white between dots is no gap. */
  readonly twoLevel: boolean;
}

/** Ink, of 255, up to which a value is paper: what colour conversion leaves of white. */
const PAPER = 2;
/** The same for a JPEG, and the noise that it puts around edges on white, at most a block of 8 pixels away. */
const JPEG_PAPER = 3;
const JPEG_NOISE = 24;
const JPEG_BLOCK = block(8);
/** Ink, of 255, from which a partly transparent pixel shows. */
const VISIBLE = 20;
/** Pixels around bare paper that are fringe, however soft: enlarged artwork fades over four. */
const FADE = block(4);

const BARE = 0;
const WHITE = 1;
const NOISE = 2;
const INK = 3;
const VEIL = 4;
const TINGE = 5;

/** The ink that a pixel puts on paper, of 255: its strongest colour. */
const inkOf = (frame: Frame): ((at: number) => number) => {
  const { grid } = frame;
  const { data } = grid;
  const colours = coloursOf(grid);
  const full = fullOf(grid);
  const paper = colours === 4 ? 0 : full;
  const scale = 255 / full;
  return (at) => {
    let most = 0;
    for (let c = 0; c < colours; c++) {
      const ink = Math.abs((data[at + c] as number) - paper);
      if (ink > most) most = ink;
    }
    const covered = grid.alpha ? (data[at + colours] as number) / full : 1;
    return most * covered * scale;
  };
};

/**
 * What a set of pixels prints.
 * @param picture the canvas's pixels that the picture has; beyond it there is paper
 */
export const printedOf = (frame: Frame, set: Runs, picture: Runs, source: BleedRequest["source"]): Printed => {
  const { grid } = frame;
  const ink = inkOf(frame);
  const full = fullOf(grid);
  const last = grid.channels - 1;
  const paperMost = source === "jpeg" ? JPEG_PAPER : PAPER;
  let strongest = true;
  const kindOf = (at: number): number => {
    const alpha = grid.alpha ? (grid.data[at + last] as number) : full;
    if (alpha === 0) return BARE;
    const level = ink(at);
    // White through which the paper shows is paper.
    if (alpha < full && level <= paperMost) return BARE;
    if (alpha < full) return level >= VISIBLE ? VEIL : TINGE;
    if (level <= paperMost) return WHITE;
    if (level < 255) strongest = false;
    return source === "jpeg" && level <= JPEG_NOISE ? NOISE : INK;
  };
  const [bare, white, noise, inked, veil, tinge] = sorted(frame, intersect(set, picture), 6, kindOf) as [
    Runs,
    Runs,
    Runs,
    Runs,
    Runs,
    Runs,
  ];
  const besideWhite = intersect(noise, dilate(white, JPEG_BLOCK, frame.width));
  const opaque = union(inked, minus(noise, besideWhite));
  const faint = union(veil, tinge);
  const wash = minus(faint, dilate(bare, FADE, frame.width));
  const solid = union(opaque, wash);
  const painted = union(white, besideWhite);
  return {
    solid,
    paper: union(union(painted, bare), minus(set, picture)),
    white: painted,
    partial: minus(faint, wash),
    seen: union(solid, veil),
    tinge: minus(tinge, wash),
    opaque,
    twoLevel: strongest && isEmpty(faint),
  };
};
