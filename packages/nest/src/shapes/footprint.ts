import type { Contour, Outline, Rect } from "@kitforme/geometry";

/**
 * A shape that is to be placed, any number of times. Whole micrometres, **y up**; a placement is a turn about the origin and a
 * move: sheet = R(turn) * p + (x, y).
 */
export interface Footprint {
  readonly id: string;
  /** What keeps clear of its neighbours, with openings in which others may lie. Several outlines are one rigid piece of several parts. */
  readonly shape: readonly Outline[];
  /** What must lie within the field's `cut` box; empty: nothing. */
  readonly trim: readonly Outline[];
  /** Turns the maker allows, degrees counter-clockwise; those across the grain of a field are left out there (`turnsOn`). */
  readonly turns: readonly number[] | "any";
  /** Direction the grain must run in the piece at turn 0; absent: any. */
  readonly grain?: "x" | "y";
}

/** Where pieces may lie on a sheet of one size. */
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

/** How long a layout is searched, counted in iterations: the same on every machine. */
export type Effort = "quick" | "normal" | "best";
