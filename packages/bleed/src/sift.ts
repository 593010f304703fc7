import type { Frame } from "./frame.ts";
import { type Runs, RunsWriter } from "./runs.ts";

/** Sorts the pixels of `within` (all in the picture) into sets by what `kindOf` says of the place of their first value. */
export const sorted = (frame: Frame, within: Runs, kinds: number, kindOf: (at: number) => number): Runs[] => {
  const { grid } = frame;
  const writers = Array.from({ length: kinds }, () => new RunsWriter(frame.rows));
  for (let y = 0; y < frame.rows; y++) {
    const row = (y + frame.y) * grid.width + frame.x;
    for (let i = within.start[y]; i < within.start[y + 1]; i += 2) {
      const to = within.ends[i + 1];
      let from = within.ends[i];
      let kind = kindOf((row + from) * grid.channels);
      for (let x = from + 1; x < to; x++) {
        const next = kindOf((row + x) * grid.channels);
        if (next === kind) continue;
        writers[kind]?.add(from, x);
        [from, kind] = [x, next];
      }
      writers[kind]?.add(from, to);
    }
    for (const writer of writers) writer.endRow();
  }
  return writers.map((writer) => writer.done());
};

/** The pixels of `within` (all in the picture) that `test` says yes to; it gets the place of the pixel's first value. */
export const sift = (frame: Frame, within: Runs, test: (at: number) => boolean): Runs =>
  sorted(frame, within, 2, (at) => (test(at) ? 1 : 0))[1] as Runs;
