import type { Catalogue } from "../maps/catalogue.ts";
import { Mover, type Reach } from "./move.ts";
import { Neighbours } from "./neighbours.ts";
import { Pieces } from "./pieces.ts";

/** Pieces on sheets, overlaps allowed, that move one by one to where their weighted overlap is least. */
export class Scene extends Pieces {
  moves = 0;
  readonly #neighbours: Neighbours;
  readonly #mover: Mover;

  constructor(catalogue: Catalogue, kinds: readonly number[], fieldOf: readonly number[], seed: number) {
    super(catalogue, kinds, fieldOf, seed);
    this.#neighbours = new Neighbours(catalogue, this.wide);
    this.#mover = new Mover(catalogue, this, this.#neighbours);
  }

  /** Places looked at so far, all moves together. */
  get evaluations(): number {
    return this.#neighbours.evaluations;
  }

  /** Counts all losses anew. */
  recount(): void {
    this.loss.fill(0);
    for (let i = 0; i < this.n; i++) this.settle(i);
  }

  /** Counts the losses of piece `i` where it lies now. */
  settle(i: number): void {
    this.#neighbours.gather(this, i, this.sheet[i]);
    this.#neighbours.settle(this, i);
  }

  /** Moves piece `i` to the best place found; its weighted loss never grows. True if it moved. */
  move(i: number, reach: Reach): boolean {
    this.moves++;
    const place = this.#mover.better(i, reach);
    if (!place) return false;
    this.leave(i);
    this.put(i, place.sheet, place.pose, place.x, place.y);
    // The others of that sheet are at hand from the last look.
    this.#neighbours.settle(this, i);
    return true;
  }

  /** Places piece `i` elsewhere and counts its losses. */
  shift(i: number, sheet: number, pose: number, x: number, y: number): void {
    this.leave(i);
    const box = this.inner[sheet][pose];
    this.put(
      i,
      sheet,
      pose,
      Math.round(Math.min(box.maxX, Math.max(box.minX, x))),
      Math.round(Math.min(box.maxY, Math.max(box.minY, y))),
    );
    this.settle(i);
  }
}
