import type { Outline, Rect, Contour } from "@kitforme/geometry";

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

/** So many copies of a footprint are wanted. Personalised pieces with different words are different demands on one footprint. */
export interface Demand {
  readonly id: string;
  /** Index into the footprints. */
  readonly footprint: number;
  readonly copies: number;
  /** No overs, and never printed more often than wanted if it can be helped. */
  readonly personal: boolean;
  /** Names that like to stay together on a sheet (orders), with the copies each takes. */
  readonly groups: readonly { readonly group: string; readonly copies: number }[];
}

export interface Placement {
  /** Index into the demands. */
  readonly demand: number;
  /** Degrees counter-clockwise. */
  readonly turn: number;
  readonly x: number;
  readonly y: number;
}

/** One arrangement on one sheet and how often it is printed. */
export interface Forme {
  /** Index into the fields. */
  readonly field: number;
  readonly placements: readonly Placement[];
  readonly run: number;
  /** Formes with the same number have the same cut geometry: only their words differ. */
  readonly geometry: number;
}

export type Effort = "quick" | "normal" | "best";

export interface GangRequest {
  readonly footprints: readonly Footprint[];
  readonly fields: readonly Field[];
  readonly demands: readonly Demand[];
  readonly setup: { readonly sheetChange: number; readonly newLayout: number };
  readonly overs: { readonly sheets: number; readonly share: number };
  readonly effort: Effort;
  /** Worker threads to use; the result does not depend on it. 0 or 1: none. */
  readonly threads?: number;
  readonly signal?: AbortSignal;
  readonly onProgress?: (progress: {
    readonly done: number;
    readonly of: number;
    readonly sheets: number;
    readonly yield: number;
  }) => void;
}

export interface Plan {
  readonly formes: readonly Forme[];
  /** Demands that no field can hold, with by how much the best turn misses (micrometres; 0 = keep-outs are in the way). */
  readonly leftovers: readonly { readonly demand: number; readonly overWidth: number; readonly overHeight: number }[];
  /** Least sheets that any plan needs, as far as known (area bound), and sheets of this plan. */
  readonly bound: { readonly sheets: number; readonly cost: number };
  readonly cost: number;
}
