import type { Effort, Field, Footprint } from "@kitforme/nest";

/** So many copies of a footprint are wanted. Personalised pieces with different words are different demands on one footprint. */
export interface Demand {
  readonly id: string;
  /** Index into the footprints. */
  readonly footprint: number;
  readonly copies: number;
  /** No overs, and never printed more often than wanted if it can be helped. */
  readonly personal: boolean;
  /** Names that like to stay together on a sheet (orders), with the copies each takes. */
  readonly groups: readonly Owner[];
}

/** So many copies for one group. */
export interface Owner {
  readonly group: string;
  readonly copies: number;
}

/** One place of a forme: whose piece lies where. Micrometres from the sheet's lower-left corner. */
export interface Placement {
  /** Index into the demands. */
  readonly demand: number;
  /** Degrees counter-clockwise. */
  readonly turn: number;
  readonly x: number;
  readonly y: number;
  /** Whose copies the whole run of this place makes; what is missing to the run is overs. Absent where no demand has groups. */
  readonly owners?: readonly Owner[];
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

/** What is to be laid on sheets. Lengths in micrometres; the same request gives the same plan. */
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

/** Formes that make every demand, and what they cost. */
export interface Plan {
  readonly formes: readonly Forme[];
  /** Demands that no field can hold, with by how much the best turn misses (micrometres; 0 = keep-outs are in the way). */
  readonly leftovers: readonly { readonly demand: number; readonly overWidth: number; readonly overHeight: number }[];
  /** No plan has fewer sheets or costs less, by the area of the shapes alone: gaps are not counted, so it is seldom reached. */
  readonly bound: { readonly sheets: number; readonly cost: number };
  readonly cost: number;
}
