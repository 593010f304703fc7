import type { Matrix } from "@kitforme/geometry";
import type { Bounds, Segment } from "./path.ts";

/** A colour of the drawing: 0xRRGGBB, sRGB. */
export type Rgb = number;

/** A stop of a gradient, offsets from 0 to 1 in their order. */
export interface Stop {
  readonly offset: number;
  readonly rgb: Rgb;
}

/** A gradient in the space of the page. */
export interface Gradient {
  readonly kind: "linear" | "radial";
  /** linear: x1 y1 x2 y2; radial: fx fy fr cx cy r. */
  readonly coordinates: readonly number[];
  readonly matrix: Matrix;
  readonly stops: readonly Stop[];
  /** Turns of the gradient that are drawn, from and to in whole numbers; beyond them the ends go on. */
  readonly turns: readonly [from: number, to: number];
  readonly mirrored: boolean;
}

export type Paint = Rgb | Gradient;

/** A fill, its rule and its share of opacity. */
export interface Fill {
  readonly paint: Paint;
  readonly opacity: number;
  readonly evenOdd: boolean;
}

export interface Stroke {
  readonly paint: Paint;
  readonly opacity: number;
  readonly width: number;
  readonly cap: 0 | 1 | 2;
  readonly join: 0 | 1 | 2;
  readonly miter: number;
  readonly dash: readonly number[];
  readonly offset: number;
}

/** A path in its own units, and the matrix that takes it to the page. */
export interface Shape {
  readonly kind: "shape";
  readonly path: readonly Segment[];
  readonly matrix: Matrix;
  readonly fill?: Fill;
  readonly stroke?: Stroke;
  readonly strokeFirst: boolean;
}

/** What a group is clipped to: a path, or several that do not touch. */
export interface Clip {
  readonly parts: readonly { readonly path: readonly Segment[]; readonly matrix: Matrix }[];
  readonly evenOdd: boolean;
}

/** Things that are clipped or mixed as one. */
export interface Group {
  readonly kind: "group";
  readonly opacity: number;
  readonly clips: readonly Clip[];
  readonly items: readonly Item[];
}

export type Item = Shape | Group;

/** Something that no page of ours expresses, in the words of the note, and where it is in the space of the page. */
export class Obstacle extends Error {
  readonly bounds: Bounds | undefined;

  constructor(what: string, bounds?: Bounds) {
    super(what);
    this.bounds = bounds;
  }
}
