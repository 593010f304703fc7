import type { Box, Part } from "../shapes/ring.ts";
import type { Growth } from "../shapes/simplify.ts";

/** A shape that repeats: a footprint, or a keep-out. */
export interface Kind {
  readonly parts: readonly Part[];
  readonly shapeBox: (degrees: number) => Box;
  readonly coreBox: (degrees: number) => Box;
  readonly area: number;
  readonly obstacle: boolean;
}

/** A kind at one turn. */
export interface Pose {
  readonly kind: number;
  readonly turn: number;
  readonly box: Box;
  readonly core: Box;
}

export interface CatalogueOptions {
  readonly clearance: number;
  /** So many kinds that not all of them may meet. */
  readonly many: boolean;
  readonly growth: Growth;
  /** The same for rings that have many points after that: their maps would cost seconds. */
  readonly coarse?: Growth;
  /** Cells along the longer side of a depth map. */
  readonly cells: number;
  /** Steps of a free turn. */
  readonly free: number;
}
