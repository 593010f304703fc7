import type { ProofFault } from "./fault.ts";
import type { PoseKind } from "./poses.ts";

/** Where the prints of a page's pieces lie. */
export interface Shifts {
  readonly faults: readonly ProofFault[];
  /** Most that one is off, micrometres. */
  readonly worst: number;
  /** Prints whose place the picture does not tell. */
  readonly unmeasured: number;
}

/** How far the prints of a page may lie off before paper shows at a cut. */
export interface Room {
  readonly faults: readonly ProofFault[];
  /** Least way beyond a cut, micrometres. */
  readonly by: number;
  /** Amounts of the poses, the least of each kind. */
  readonly under: Readonly<Record<PoseKind, number>>;
}

/** What of a page is measured in its picture and does not depend on its words. */
export interface Measured {
  readonly shifts: Shifts;
  readonly room: Room;
}
