import type { Catalogue } from "../maps/catalogue.ts";
import { weightedLoss } from "./losses.ts";
import type { Neighbours } from "./neighbours.ts";
import type { Pieces } from "./pieces.ts";
import { type Place, Places } from "./places.ts";
import { refine } from "./refine.ts";
import { snap } from "./snap.ts";
import { whole } from "./whole.ts";

/** How widely a move looks. */
export interface Reach {
  /** Places tried anywhere on the sheets. */
  readonly anywhere: number;
  /** Places tried near where the piece lies. */
  readonly nearby: number;
}

/** Sheets looked at in one move, the piece's own among them. */
const SHEETS = 3;
/** Steps of refining in parts of the piece's shorter side: first and last, of the kept places and of the best of them. */
const ROUGH = { start: 0.25, stop: 0.02 };
const FINE = { start: 0.01, stop: 0.001 };
/** Depth of overlap, in the same parts, up to which a place that just touches is looked for. */
const SNAP = 0.02;

/** The one move of the search: a piece goes where its weighted overlap is least. */
export class Mover {
  readonly #pieces: Pieces;
  readonly #neighbours: Neighbours;
  readonly #places = new Places();
  /** Per pose: the shorter side of its box. */
  readonly #side: Float64Array;
  readonly #trial: Place = { sheet: -1, pose: -1, x: 0, y: 0, loss: 0 };

  constructor(catalogue: Catalogue, pieces: Pieces, neighbours: Neighbours) {
    this.#pieces = pieces;
    this.#neighbours = neighbours;
    this.#side = Float64Array.from(catalogue.poses, ({ box }) => Math.min(box.maxX - box.minX, box.maxY - box.minY));
  }

  /**
   * The best place found for piece `i`, in whole micrometres, its sheet gathered; undefined when none loses less than where it
   * lies. The place is overwritten by the next move.
   */
  better(i: number, reach: Reach): Place | undefined {
    const { sheet, pose, x, y } = this.#pieces;
    const before = weightedLoss(this.#pieces, i);
    this.#places.clear();
    this.#neighbours.gather(this.#pieces, i, sheet[i]);
    this.#places.offer(before, sheet[i], pose[i], x[i], y[i], this.#side[pose[i]]);
    this.#nearby(i, reach.nearby);
    this.#anywhere(i, reach.anywhere);
    return this.#refined(i, before);
  }

  /** Places within the piece's own box, any turn. */
  #nearby(i: number, samples: number): void {
    const { catalogue, dice, kind, sheet, pose: poseOf, x, y, fieldOf, inner } = this.#pieces;
    const { minX, minY, maxX, maxY } = catalogue;
    const home = sheet[i];
    const at = poseOf[i];
    const poses = catalogue.posesOn[fieldOf[home]][kind[i]];
    const boxes = inner[home];
    const w = maxX[at] - minX[at];
    const h = maxY[at] - minY[at];
    const midX = x[i] + (maxX[at] + minX[at]) / 2;
    const midY = y[i] + (maxY[at] + minY[at]) / 2;
    for (let s = 0; s < samples; s++) {
      const pose = poses[poses.length === 1 ? 0 : dice.below(poses.length)];
      const box = boxes[pose];
      if (box.maxX < box.minX || box.maxY < box.minY) continue;
      let px = midX + (dice.unit() - 0.5) * w - (maxX[pose] + minX[pose]) / 2;
      let py = midY + (dice.unit() - 0.5) * h - (maxY[pose] + minY[pose]) / 2;
      px = px < box.minX ? box.minX : px > box.maxX ? box.maxX : px;
      py = py < box.minY ? box.minY : py > box.maxY ? box.maxY : py;
      this.#look(home, pose, px, py);
    }
  }

  /** Places all over the piece's sheet and two others. */
  #anywhere(i: number, wanted: number): void {
    const { catalogue, dice, kind, sheet: sheetOf, fieldOf, inner, shut } = this.#pieces;
    const home = sheetOf[i];
    const sheets = fieldOf.length;
    const tried = Math.min(sheets, SHEETS);
    const samples = Math.max(1, Math.ceil(wanted / tried));
    for (let round = 0; round < tried; round++) {
      const sheet = round === 0 ? home : dice.below(sheets);
      if (sheet !== home && shut.has(sheet)) continue;
      if (round > 0 && sheet !== home) this.#neighbours.gather(this.#pieces, i, sheet);
      const poses = catalogue.posesOn[fieldOf[sheet]][kind[i]];
      const boxes = inner[sheet];
      for (let s = 0; s < samples; s++) {
        const pose = poses[poses.length === 1 ? 0 : dice.below(poses.length)];
        const box = boxes[pose];
        if (box.maxX < box.minX || box.maxY < box.minY) continue;
        const px = box.minX + dice.unit() * (box.maxX - box.minX);
        const py = box.minY + dice.unit() * (box.maxY - box.minY);
        this.#look(sheet, pose, px, py);
      }
    }
  }

  #look(sheet: number, pose: number, x: number, y: number): void {
    const limit = this.#places.limit();
    const loss = this.#neighbours.loss(pose, x, y, limit);
    if (loss < limit) this.#places.offer(loss, sheet, pose, x, y, this.#side[pose]);
  }

  /** The kept places refined roughly, then the best one finely, snapped and rounded. */
  #refined(i: number, before: number): Place | undefined {
    const { inner, dice } = this.#pieces;
    const neighbours = this.#neighbours;
    let winner: Place | undefined;
    let least = before;
    for (const place of this.#places.kept) {
      if (!(place.loss < Infinity)) continue;
      if (neighbours.sheet !== place.sheet) neighbours.gather(this.#pieces, i, place.sheet);
      const side = this.#side[place.pose];
      refine(neighbours, place, inner[place.sheet][place.pose], dice, side * ROUGH.start, side * ROUGH.stop);
      if (place.loss < least || (!winner && place.loss <= least)) {
        least = place.loss;
        winner = place;
      }
    }
    if (!winner) return undefined;
    const place = Object.assign(this.#trial, winner);
    if (neighbours.sheet !== place.sheet) neighbours.gather(this.#pieces, i, place.sheet);
    const box = inner[place.sheet][place.pose];
    const side = this.#side[place.pose];
    refine(neighbours, place, box, dice, side * FINE.start, side * FINE.stop);
    if (place.loss > 0) snap(neighbours, place, box, side * SNAP);
    whole(neighbours, place, box);
    return place.loss < before ? place : undefined;
  }
}
