import { roomOf } from "../maps/room.ts";
import type { Catalogue } from "../maps/catalogue.ts";
import { consolidate } from "../search/consolidate.ts";
import { HASTY, PATIENCE, REACH, SHORT } from "../search/effort.ts";
import { enrich } from "../choose/enrich.ts";
import { empty } from "../search/improve.ts";
import type { Layout } from "./layout.ts";
import type { PackRequest } from "./packed.ts";

/** A search of some sheets, complete in itself: its answer depends on nothing else. */
export interface Task {
  readonly layout: Layout;
  readonly seed: number;
  readonly moves: number;
  /** Sheets by twos, or all at once, or new sheets out of those (then `need` says how many of each kind the request wants). */
  readonly way: "consolidate" | "empty" | "enrich";
  readonly need?: readonly number[];
}

/** Does one task. */
export const perform = (
  catalogue: Catalogue,
  fields: PackRequest["fields"],
  { layout, seed, moves, way, need }: Task,
  aborted: () => boolean,
): Layout => {
  if (way === "enrich") return enrich(catalogue, layout, need ?? [], seed, { ...HASTY, moves, aborted });
  const room = roomOf(fields);
  return way === "consolidate"
    ? consolidate(catalogue, layout, room, seed, { ...SHORT, moves, aborted })
    : empty(catalogue, layout, room, seed, { patience: PATIENCE, reach: REACH, moves, aborted });
};
