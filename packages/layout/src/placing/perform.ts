import { roomOf } from "./catalogue-of.ts";
import type { Catalogue } from "./catalogue.ts";
import { consolidate } from "./consolidate.ts";
import { PATIENCE, REACH, SHORT } from "./effort.ts";
import { empty } from "./improve.ts";
import type { Laid } from "./laid.ts";
import type { PackRequest } from "./packed.ts";

/** A search of some sheets, complete in itself: its answer depends on nothing else. */
export interface Task {
  readonly laid: Laid;
  readonly seed: number;
  readonly moves: number;
  /** Sheets by twos, or all at once. */
  readonly way: "consolidate" | "empty";
}

/** Does one task. */
export const perform = (
  catalogue: Catalogue,
  fields: PackRequest["fields"],
  { laid, seed, moves, way }: Task,
  aborted: () => boolean,
): Laid =>
  way === "consolidate"
    ? consolidate(catalogue, laid, roomOf(fields), seed, { ...SHORT, moves, aborted })
    : empty(catalogue, laid, roomOf(fields), seed, { patience: PATIENCE, reach: REACH, moves, aborted });
