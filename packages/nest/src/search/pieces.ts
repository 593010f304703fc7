import type { Catalogue } from "../maps/catalogue.ts";
import type { Box } from "../shapes/ring.ts";
import { Dice } from "./dice.ts";

/** Pieces on sheets, overlaps allowed: where each lies, and what every two that overlap lose by it. */
export class Pieces {
  readonly catalogue: Catalogue;
  readonly dice: Dice;
  /** Number of movable pieces. */
  readonly n: number;
  readonly kind: Int32Array;
  readonly pose: Int32Array;
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Sheet of each piece; -1: on none. */
  readonly sheet: Int32Array;
  /** Field of each sheet; sheets are equal but for this. */
  readonly fieldOf: readonly number[];
  /** Per sheet and pose: where the origin may lie. The strip search narrows it. */
  readonly inner: Box[][];
  /** Sheets that moves do not lead to, but for pieces that lie there already. */
  shut: ReadonlySet<number> = new Set();
  /** Per sheet: its pieces, the first `count` entries. */
  readonly members: Int32Array[];
  readonly count: Int32Array;
  /** Columns of the two matrices: pieces, then obstacles. */
  readonly wide: number;
  readonly loss: Float64Array;
  readonly weight: Float64Array;
  /** Place of each piece in the list of its sheet. */
  readonly #slot: Int32Array;

  constructor(catalogue: Catalogue, kinds: readonly number[], fieldOf: readonly number[], seed: number) {
    this.catalogue = catalogue;
    this.dice = new Dice(seed);
    const n = kinds.length;
    this.n = n;
    this.kind = Int32Array.from(kinds);
    this.pose = new Int32Array(n);
    this.x = new Float64Array(n);
    this.y = new Float64Array(n);
    this.sheet = new Int32Array(n);
    this.fieldOf = fieldOf;
    this.inner = fieldOf.map((f) => catalogue.inner[f]);
    this.members = fieldOf.map(() => new Int32Array(n));
    this.count = new Int32Array(fieldOf.length);
    const obstacles = Math.max(0, ...fieldOf.map((f) => (catalogue.obstacles[f] ?? []).length));
    this.wide = n + obstacles;
    this.loss = new Float64Array(n * this.wide);
    this.weight = new Float64Array(n * this.wide).fill(1);
    this.#slot = new Int32Array(n);
  }

  /** Places piece `i`, losses not yet counted. */
  put(i: number, sheet: number, pose: number, x: number, y: number): void {
    this.sheet[i] = sheet;
    this.pose[i] = pose;
    this.x[i] = x;
    this.y[i] = y;
    const at = this.count[sheet];
    this.members[sheet][at] = i;
    this.#slot[i] = at;
    this.count[sheet] = at + 1;
  }

  /** Takes piece `i` off its sheet. */
  take(i: number): void {
    this.leave(i);
    const { n, wide, loss } = this;
    for (let j = 0; j < wide; j++) {
      loss[i * wide + j] = 0;
      if (j < n) loss[j * wide + i] = 0;
    }
    this.sheet[i] = -1;
  }

  /** All weights back to 1. */
  forget(): void {
    this.weight.fill(1);
  }

  /** Takes piece `i` out of the list of its sheet; its losses stay. */
  leave(i: number): void {
    const sheet = this.sheet[i];
    const list = this.members[sheet];
    const last = this.count[sheet] - 1;
    const moved = list[last];
    const at = this.#slot[i];
    list[at] = moved;
    this.#slot[moved] = at;
    this.count[sheet] = last;
  }

  /** Where everything lies, to come back to. */
  save(): Saved {
    return {
      pose: this.pose.slice(),
      x: this.x.slice(),
      y: this.y.slice(),
      sheet: this.sheet.slice(),
      loss: this.loss.slice(),
    };
  }

  restore(saved: Saved): void {
    this.count.fill(0);
    for (let i = 0; i < this.n; i++)
      if (saved.sheet[i] < 0) this.sheet[i] = -1;
      else this.put(i, saved.sheet[i], saved.pose[i], saved.x[i], saved.y[i]);
    this.loss.set(saved.loss);
  }
}

/** Where everything lay. */
export interface Saved {
  readonly pose: Int32Array;
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly sheet: Int32Array;
  readonly loss: Float64Array;
}
