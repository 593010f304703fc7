import type { Contour, Outline, Rect } from "@kitforme/geometry";

/**
 * What layout sees of a piece. Shapes are in micrometres with **y up** (the bridge in `run` has flipped the drawing), so a
 * placement is a turn about the origin and a move: sheet = R(turn) * p + (x, y).
 */
export interface Footprint {
  readonly id: string;
  /** What keeps clear of its neighbours: bleed outlines with the openings that remain (cut outlines for unprinted pieces). Several = one rigid piece of several parts. */
  readonly shape: readonly Outline[];
  /** What the cutter follows: all cut, crease and perforation points lie inside these. */
  readonly trim: readonly Outline[];
  /** Allowed turns in degrees counter-clockwise, grain already respected for each field: see `turnsOn`. */
  readonly turns: readonly number[] | "any";
  /** Direction the grain must run in the piece at turn 0; absent: any. */
  readonly grain?: "x" | "y";
}

/** Where pieces may lie on one sheet size. */
export interface Field {
  readonly id: string;
  readonly width: number;
  readonly height: number;
  /** `shape` of every footprint lies in here (what the press prints). */
  readonly print: Rect;
  /** `trim` of every footprint lies in here (what the cutter reaches, inside the marks). */
  readonly cut: Rect;
  /** `shape` keeps out of these (marks with their clear zone, code, slug). */
  readonly keepOuts: readonly Contour[];
  /** Least distance between the shapes of two pieces. */
  readonly clearance: number;
  /** Grain direction of the sheet; absent: unknown. */
  readonly grain?: "x" | "y";
}

export type Effort = "quick" | "normal" | "best";
