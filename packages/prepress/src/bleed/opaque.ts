import type { Frame } from "./frame.ts";
import { block, dilate, isEmpty, minus, RunsWriter, type Runs } from "./runs.ts";

/** The pixels of `within` (all in the picture) that `test` says yes to; it gets the place of the pixel's first value. */
export const sift = (frame: Frame, within: Runs, test: (at: number) => boolean): Runs => {
  const { grid } = frame;
  const out = new RunsWriter(frame.rows);
  for (let y = 0; y < frame.rows; y++) {
    const row = (y + frame.y) * grid.width + frame.x;
    for (let i = within.start[y] as number; i < (within.start[y + 1] as number); i += 2) {
      const to = within.ends[i + 1] as number;
      let from = -1;
      for (let x = within.ends[i] as number; x < to; x++) {
        if (test((row + x) * grid.channels)) {
          if (from < 0) from = x;
        } else if (from >= 0) {
          out.add(from, x);
          from = -1;
        }
      }
      if (from >= 0) out.add(from, to);
    }
    out.endRow();
  }
  return out.done();
};

/** The pixels of `within` that hide the paper. Values under any lesser alpha are not trusted: every resize zeroes them. */
export const opaque = (frame: Frame, within: Runs): Runs => {
  const { grid } = frame;
  if (!grid.alpha) return within;
  const { data } = grid;
  const last = grid.channels - 1;
  const full = grid.depth === 8 ? 255 : 65_535;
  return sift(frame, within, (at) => data[at + last] === full);
};

/** Pixels around bare paper that are fringe, however soft: enlarged artwork fades over four. */
const FADE = block(4);

/**
 * Of `body`: washes, wide areas of even or slowly fading transparency. They are drawn that way and print over paper, so they
 * give their colour as it prints; a fringe is never that wide.
 */
export const washes = (frame: Frame, body: Runs, solid: Runs, around: Runs): Runs => {
  const { grid } = frame;
  const faint = minus(body, solid);
  if (!grid.alpha || isEmpty(faint)) return minus(body, body);
  const { data } = grid;
  const last = grid.channels - 1;
  const tinted = sift(frame, faint, (at) => data[at + last] !== 0);
  if (isEmpty(tinted)) return tinted;
  const bare = sift(frame, around, (at) => data[at + last] === 0);
  return minus(tinted, dilate(bare, FADE, frame.width));
};
