/* oxlint-disable typescript/no-unnecessary-type-assertion -- <usize> is a conversion in AssemblyScript, not an assertion */
// Where the columns of a set stop from one row to the next, and where they start again.
import { FAR, get, put } from "./memory";

/** Bytes of one stop: a column whose source stops, and the row where it starts again. */
export const STOP: i32 = 8;
/** Bytes of its two numbers from its beginning: the column, and the row where its source starts again. */
export const STOPPED: usize = 0;
export const BELOW: usize = 4;

/** The stops of every row, from `stops` on; answers the address after the last. How many there are shows only on the way, so
 * the memory grows with them. `down` gets the first source row of every column. */
export function findEnds(
  rows: i32,
  width: i32,
  start: i32,
  ends: i32,
  down: i32,
  last: i32,
  stopStart: i32,
  stops: i32,
): i32 {
  for (let x = 0; x < width; x++) {
    put(down, x, FAR);
    put(last, x, -1);
  }
  let next = stops;
  let room: i32 = memory.size() << 16;
  for (let y = 0; y <= rows; y++) {
    put(stopStart, y, next);
    if (next + STOP * width > room) {
      memory.grow(((STOP * width) >> 16) + 16);
      room = memory.size() << 16;
    }
    let i = y > 0 ? get(start, y - 1) : 0;
    const iEnd = y > 0 ? get(start, y) : 0;
    let j = y < rows ? get(start, y) : 0;
    const jEnd = y < rows ? get(start, y + 1) : 0;
    let state = 0;
    let from = 0;
    while (i < iEnd || j < jEnd) {
      const xa = i < iEnd ? get(ends, i) : FAR;
      const xb = j < jEnd ? get(ends, j) : FAR;
      const x = min(xa, xb);
      if (state == 1) {
        for (let c = from; c < x; c++) {
          store<i32>(<usize>next, c, STOPPED);
          store<i32>(<usize>next, FAR, BELOW);
          put(last, c, next);
          next += STOP;
        }
      } else if (state == 2) {
        for (let c = from; c < x; c++) {
          const l = get(last, c);
          if (l < 0) put(down, c, y);
          else store<i32>(<usize>l, y, BELOW);
        }
      }
      from = x;
      if (xa == x) {
        i++;
        state ^= 1;
      }
      if (xb == x) {
        j++;
        state ^= 2;
      }
    }
  }
  put(stopStart, rows + 1, next);
  return next;
}
