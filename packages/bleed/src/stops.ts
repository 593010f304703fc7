// Where source stops and starts again along every column: what toggles between two rows, found by one walk over the runs.
import { FAR } from "./request-nearest.ts";
import type { Runs } from "./runs.ts";

/** What toggles between rows: for the columns where source stops above row y, when it starts again. */
export interface Ends {
  /** Of row y: `at[start[y]] … at[start[y + 1]]` are columns, `next` the rows where source starts again below. */
  readonly start: Int32Array;
  readonly at: Int32Array;
  readonly next: Int32Array;
  /** First source row of every column. */
  readonly first: Int32Array;
}

const toggledColumns = (source: Runs): number => {
  // The least that can hold all: every run end moves by some columns from row to row; counted by a dry walk.
  let sum = 0;
  const { start, ends, rows } = source;
  for (let y = 0; y < rows; y++) {
    let i = start[y];
    const iEnd = start[y + 1];
    let j = y + 1 < rows ? iEnd : 0;
    const jEnd = y + 1 < rows ? start[y + 2] : 0;
    let state = 0;
    let from = 0;
    while (i < iEnd || j < jEnd) {
      const xa = i < iEnd ? ends[i] : FAR;
      const xb = j < jEnd ? ends[j] : FAR;
      const x = xa < xb ? xa : xb;
      if (state === 1) sum += x - from;
      from = x;
      if (xa === x) {
        i++;
        state ^= 1;
      }
      if (xb === x) {
        j++;
        state ^= 2;
      }
    }
  }
  return sum;
};

export const findEnds = (source: Runs, width: number): Ends => {
  const { start, ends, rows } = source;
  const stops = toggledColumns(source);
  const at = new Int32Array(stops);
  const next = new Int32Array(stops).fill(FAR);
  const stopStart = new Int32Array(rows + 2);
  const first = new Int32Array(width).fill(FAR);
  const last = new Int32Array(width).fill(-1);
  let n = 0;
  for (let y = 0; y <= rows; y++) {
    stopStart[y] = n;
    // a: the row above, b: this row.
    let i = y > 0 ? start[y - 1] : 0;
    const iEnd = y > 0 ? start[y] : 0;
    let j = y < rows ? start[y] : 0;
    const jEnd = y < rows ? start[y + 1] : 0;
    let state = 0;
    let from = 0;
    while (i < iEnd || j < jEnd) {
      const xa = i < iEnd ? ends[i] : FAR;
      const xb = j < jEnd ? ends[j] : FAR;
      const x = xa < xb ? xa : xb;
      if (state === 1) {
        for (let c = from; c < x; c++) {
          at[n] = c;
          last[c] = n++;
        }
      } else if (state === 2) {
        for (let c = from; c < x; c++) {
          const l = last[c];
          if (l < 0) first[c] = y;
          else next[l] = y;
        }
      }
      from = x;
      if (xa === x) {
        i++;
        state ^= 1;
      }
      if (xb === x) {
        j++;
        state ^= 2;
      }
    }
  }
  stopStart[rows + 1] = n;
  return { start: stopStart, at, next, first };
};
