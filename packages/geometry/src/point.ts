import type { Um } from "./length.ts";

/**
 * Where a point lives. `drawing`: from the drawing's top-left corner, y down. `sheet`: from the sheet's lower-left corner,
 * y up. Only `place`, `placeAll` and `placeOutlines` (transform.ts) turn one into the other, so an unplaced crease cannot reach a cut file.
 */
export type Space = "drawing" | "sheet";

declare const space: unique symbol;

/** A point, in whole micrometres of its space. */
export interface Point<S extends Space = Space> {
  readonly x: Um;
  readonly y: Um;
  /** Never present: it only keeps the two spaces apart. */
  readonly [space]?: S;
}

/** An axis-aligned box: corner with the least x and y, and its extent. Micrometres. */
export interface Rect {
  readonly x: Um;
  readonly y: Um;
  readonly width: Um;
  readonly height: Um;
}

/** A closed ring: the last point is joined to the first and not repeated. At least three points. */
export type Contour<S extends Space = Space> = readonly Point<S>[];

/** An open line of at least two points. */
export type Path<S extends Space = Space> = readonly Point<S>[];

/**
 * A part with its openings. The outer contour is wound counter-clockwise and the openings clockwise *in the y-up sense of
 * signed area > 0 for outer, < 0 for openings* (shoelace over x, y as stored, whichever way y points).
 */
export interface Outline<S extends Space = Space> {
  readonly outer: Contour<S>;
  readonly openings: readonly Contour<S>[];
}

/** A point from its coordinates, whole micrometres. Whoever calls it says in which space they are. */
export const point = <S extends Space>(x: Um, y: Um): Point<S> => ({ x, y });
