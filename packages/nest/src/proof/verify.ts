import {
  area,
  bounds,
  clearBy,
  containsRect,
  overlaps,
  type Contour,
  type Outline,
  type Rect,
  ROUNDING,
  toMm,
  unit,
} from "@kitforme/geometry";
import type { Field, Footprint } from "../shapes/footprint.ts";

/** A footprint at its place on the sheet. */
export interface Placed {
  /** Index into the footprints. */
  readonly footprint: number;
  readonly turn: number;
  readonly x: number;
  readonly y: number;
}

const movedTo = (outlines: readonly Outline[], { turn, x, y }: Placed): Outline[] => {
  const [cos, sin] = unit(turn);
  const move = (contour: Contour): Contour =>
    contour.map((p) => ({ x: Math.round(cos * p.x - sin * p.y + x), y: Math.round(sin * p.x + cos * p.y + y) }));
  return outlines.map((o) => ({ outer: move(o.outer), openings: o.openings.map(move) }));
};

const boxOf = (outlines: readonly Outline[]): Rect => {
  const boxes = outlines.map((o) => bounds(o.outer));
  const x = Math.min(...boxes.map((b) => b.x));
  const y = Math.min(...boxes.map((b) => b.y));
  return {
    x,
    y,
    width: Math.max(...boxes.map((b) => b.x + b.width)) - x,
    height: Math.max(...boxes.map((b) => b.y + b.height)) - y,
  };
};

const shifted = (outlines: readonly Outline[], dx: number, dy: number): Outline[] => {
  const move = (contour: Contour): Contour => contour.map((p) => ({ x: p.x + dx, y: p.y + dy }));
  return outlines.map((o) => ({ outer: move(o.outer), openings: o.openings.map(move) }));
};

const AROUND = [-1, 0, 1].flatMap((i) => [-1, 0, 1].map((j) => [i * ROUNDING, j * ROUNDING] as const));

/** Apart by the clearance, give or take the rounding of two placed shapes; without clearance a touch is no overlap. */
const keepClear = (a: readonly Outline[], b: readonly Outline[], clearance: number): boolean =>
  clearance > ROUNDING
    ? clearBy(a, b, clearance - ROUNDING)
    : AROUND.some(([dx, dy]) => !overlaps(a, shifted(b, dx, dy))) || !overlaps(a, b);

/** Boxes with nothing in common but edges. */
const apart = (a: Rect, b: Rect): boolean =>
  a.x + a.width <= b.x || b.x + b.width <= a.x || a.y + a.height <= b.y || b.y + b.height <= a.y;

const wholeTurn = (degrees: number): number => ((degrees % 360) + 360) % 360;

/** A breach of a rule: the pieces at fault (indices into the placed ones) and a sentence. */
export interface Breach {
  readonly pieces: readonly number[];
  readonly sentence: string;
}

/** Every breach of a rule in a layout, as sentences: empty when it is valid. */
export const breachesOf = (placed: readonly Placed[], footprints: readonly Footprint[], field: Field): string[] =>
  faultsOf(placed, footprints, field).map((breach) => breach.sentence);

/** Every breach of a rule in a layout with the pieces at fault. */
export const faultsOf = (placed: readonly Placed[], footprints: readonly Footprint[], field: Field): Breach[] => {
  const breaches: Breach[] = [];
  const add = (pieces: readonly number[], sentence: string): void => {
    breaches.push({ pieces, sentence });
  };
  const pieces = placed.map((p) => {
    const footprint = footprints[p.footprint];
    if (!footprint) throw new Error(`layout: no footprint ${p.footprint}`);
    return { at: p, footprint, shape: movedTo(footprint.shape, p), core: movedTo(footprint.core, p) };
  });
  const named = (k: number): string => {
    const { footprint, at } = pieces[k] as (typeof pieces)[number];
    return `${footprint.id} at ${toMm(at.x)}/${toMm(at.y)} mm turned ${at.turn}`;
  };
  const boxes = pieces.map((p) => boxOf(p.shape));
  pieces.forEach(({ at, footprint, core }, k) => {
    if (!Number.isInteger(at.x) || !Number.isInteger(at.y)) add([k], `${named(k)} is not at whole micrometres`);
    if (footprint.turns !== "any" && !footprint.turns.some((t) => wholeTurn(t) === wholeTurn(at.turn)))
      add([k], `${named(k)} may only be turned by ${footprint.turns.join(", ")}`);
    if (footprint.axis && field.axis && wholeTurn(at.turn) % 180 !== (footprint.axis === field.axis ? 0 : 90))
      add([k], `${named(k)} lies across the field's axis`);
    if (!containsRect(field.bounds, boxes[k] as Rect)) add([k], `${named(k)} leaves the field`);
    if (core.length > 0 && !containsRect(field.coreBounds, boxOf(core)))
      add([k], `${named(k)} leaves what the field grants its core`);
  });
  field.keepOuts.forEach((contour, o) => {
    const keepOut = [{ outer: area(contour) > 0 ? contour : contour.toReversed(), openings: [] }];
    const box = bounds(contour);
    pieces.forEach(({ shape }, k) => {
      // Pieces beside it cannot overlap it.
      if (apart(boxes[k] as Rect, box)) return;
      if (!keepClear(shape, keepOut, 0)) add([k], `${named(k)} lies on keep-out ${o + 1}`);
    });
  });
  const order = boxes.map((_, k) => k).sort((a, b) => (boxes[a] as Rect).x - (boxes[b] as Rect).x || a - b);
  for (let i = 0; i < order.length; i++) {
    const a = order[i];
    const box = boxes[a] as Rect;
    for (let j = i + 1; j < order.length; j++) {
      const b = order[j];
      const other = boxes[b] as Rect;
      if (other.x > box.x + box.width + field.clearance) break;
      if (other.y > box.y + box.height + field.clearance || box.y > other.y + other.height + field.clearance) continue;
      const [p, q] = [pieces[a] as (typeof pieces)[number], pieces[b] as (typeof pieces)[number]];
      if (!keepClear(p.shape, q.shape, field.clearance))
        add([a, b], `${named(a)} and ${named(b)} are nearer than ${toMm(field.clearance)} mm`);
    }
  }
  return breaches;
};

/**
 * Proof that a layout is valid: nothing nearer than the clearance, nothing outside the field or on a keep-out, every turn
 * allowed. Looks at the exact shapes with geometry's distances, never at the search's own maps. Throws: a breach is our bug.
 */
export const verifyForme = (placed: readonly Placed[], footprints: readonly Footprint[], field: Field): void => {
  const breaches = breachesOf(placed, footprints, field);
  if (breaches.length > 0) throw new Error(`layout: invalid sheet ${field.id}: ${breaches.join("; ")}`);
};
