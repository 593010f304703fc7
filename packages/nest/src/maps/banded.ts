import type { Fragments } from "./fragments.ts";

/**
 * The pieces that lines of one coordinate `c` cross, band by band; along those lines the other coordinate is `o`. What a line
 * asks of them lies in the sequence in which it is read: millions of questions are put.
 */
export class Banded {
  readonly #pieces: Fragments;
  readonly #c: Int32Array;
  readonly #o: Int32Array;
  readonly #low: number;
  readonly #size: number;
  readonly #bands: number;
  readonly #start: Int32Array;
  /** Of every piece in a band: its ends by both coordinates, the lower ones first, and its number. */
  readonly #lowC: Int32Array;
  readonly #highC: Int32Array;
  readonly #lowO: Int32Array;
  readonly #highO: Int32Array;
  readonly #piece: Int32Array;
  /** What it adds to the sum when it is crossed. */
  readonly #adds: Int32Array;

  /** @param upward 1 where a piece with its end beyond its beginning adds its net, -1 where one the other way does */
  constructor(
    pieces: Fragments,
    c: Int32Array,
    o: Int32Array,
    bands: number,
    low: number,
    size: number,
    upward: 1 | -1,
  ) {
    this.#pieces = pieces;
    this.#c = c;
    this.#o = o;
    this.#bands = bands;
    this.#low = low;
    this.#size = size;
    const { count, from, to, net } = pieces;
    const start = new Int32Array(bands + 1);
    const first = new Int32Array(count);
    const last = new Int32Array(count).fill(-1);
    for (let s = 0; s < count; s++) {
      if (net[s] === 0) continue;
      const u = c[from[s]];
      const v = c[to[s]];
      const b0 = this.#bandOf(u < v ? u : v);
      const b1 = this.#bandOf(u < v ? v : u);
      first[s] = b0;
      last[s] = b1;
      for (let b = b0; b <= b1; b++) start[b + 1] = start[b + 1] + 1;
    }
    for (let b = 0; b < bands; b++) start[b + 1] = start[b + 1] + start[b];
    this.#start = start;
    const entries = start[bands];
    const lowC = (this.#lowC = new Int32Array(entries));
    const highC = (this.#highC = new Int32Array(entries));
    const lowO = (this.#lowO = new Int32Array(entries));
    const highO = (this.#highO = new Int32Array(entries));
    const piece = (this.#piece = new Int32Array(entries));
    const adds = (this.#adds = new Int32Array(entries));
    const fill = start.slice(0, bands);
    for (let s = 0; s < count; s++) {
      const f = from[s];
      const t = to[s];
      const [fc, tc, fo, t2] = [c[f], c[t], o[f], o[t]];
      for (let b = first[s]; b <= last[s]; b++) {
        const at = fill[b];
        fill[b] = at + 1;
        lowC[at] = fc < tc ? fc : tc;
        highC[at] = fc < tc ? tc : fc;
        lowO[at] = fo < t2 ? fo : t2;
        highO[at] = fo < t2 ? t2 : fo;
        piece[at] = s;
        adds[at] = tc > fc ? upward * net[s] : -upward * net[s];
      }
    }
  }

  /** What the pieces beyond the place (`mc`, `mo`) add up to, the one numbered `but` left out. */
  beyond(mc: number, mo: number, but: number): number {
    const lowC = this.#lowC;
    const highC = this.#highC;
    const lowO = this.#lowO;
    const highO = this.#highO;
    const adds = this.#adds;
    const piece = this.#piece;
    const band = this.#bandOf(mc);
    const end = this.#start[band + 1];
    let w = 0;
    for (let k = this.#start[band]; k < end; k++) {
      if (lowC[k] > mc || highC[k] <= mc || highO[k] <= mo) continue;
      if (piece[k] === but || (lowO[k] <= mo && this.#before(piece[k], mc, mo))) continue;
      w += adds[k];
    }
    return w;
  }

  /** Whether the line has met the piece before it comes to the place. */
  #before(r: number, mc: number, mo: number): boolean {
    const f = this.#pieces.from[r];
    const t = this.#pieces.to[r];
    const fc = this.#c[f];
    const fo = this.#o[f];
    return fo + ((mc - fc) / (this.#c[t] - fc)) * (this.#o[t] - fo) <= mo;
  }

  #bandOf(v: number): number {
    const b = Math.floor((v - this.#low) / this.#size);
    return b < 0 ? 0 : b >= this.#bands ? this.#bands - 1 : b;
  }
}
