import type { Stop } from "./contents.ts";

/** Rectangles on one sheet by cuts from edge to edge. Lengths in any one unit. */
export interface RectanglesRequest {
  readonly sheet: { readonly width: number; readonly height: number };
  readonly jobs: readonly { readonly width: number; readonly height: number; readonly copies: number }[];
  /** Whether jobs may lie turned by a quarter. */
  readonly turns: boolean;
  /** Layouts rebuilt in search of one, all run lengths together (default 400,000). */
  readonly iterations?: number;
  readonly seed?: number;
  readonly signal?: Stop;
}

/** A rectangle's place on the sheet, in the sheet's own unit. */
export interface PlacedRectangle {
  readonly job: number;
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

/** One layout of rectangles that cuts from edge to edge separate, and how often it is printed. */
export interface RectanglesPlan {
  readonly run: number;
  readonly placed: readonly PlacedRectangle[];
  /** No single layout has a shorter run: ceil(copies / run) of every job must fit by area. */
  readonly bound: number;
  /** No single guillotine layout has a shorter run. */
  readonly proven: boolean;
}
