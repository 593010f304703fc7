import type { Contour, Outline, Rect } from "@kitforme/geometry";

/**
 * A shape that is to be placed, any number of times. Whole micrometres, **y up**; a placement is a turn about the origin and a
 * move: sheet = R(turn) * p + (x, y).
 */
export interface Footprint {
  readonly id: string;
  /** What keeps clear of its neighbours, with openings in which others may lie. Several outlines are one rigid piece of several parts. */
  readonly shape: readonly Outline[];
  /** The part of it that must lie within the field's `coreBounds`; empty: none. */
  readonly core: readonly Outline[];
  /** Turns the maker allows, degrees counter-clockwise; those across the axis of a field are left out there (`turnsOn`). */
  readonly turns: readonly number[] | "any";
  /** Which of its directions, at turn 0, must run along the field's axis; absent: any. */
  readonly axis?: "x" | "y";
}

/** Where pieces may lie on a sheet of one size. */
export interface Field {
  readonly id: string;
  readonly width: number;
  readonly height: number;
  /** `shape` of every footprint lies in here. */
  readonly bounds: Rect;
  /** `core` of every footprint lies in here. */
  readonly coreBounds: Rect;
  /** `shape` keeps out of these. */
  readonly keepOuts: readonly Contour[];
  /** Least distance between the shapes of two pieces. */
  readonly clearance: number;
  /** The direction that the material has, if any; absent: none. */
  readonly axis?: "x" | "y";
}

/** How long a layout is searched, counted in iterations: the same on every machine. */
export type Effort = "quick" | "normal" | "best";
