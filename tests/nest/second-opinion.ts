// Validity of sheets by jsts alone: nothing of ours but the placements is used.
import type { Contour, Outline } from "@kitforme/geometry";
import type { Field, Footprint } from "@kitforme/nest";
import Coordinate from "jsts/org/locationtech/jts/geom/Coordinate.js";
import GeometryFactory from "jsts/org/locationtech/jts/geom/GeometryFactory.js";
import OverlayOp from "jsts/org/locationtech/jts/operation/overlay/OverlayOp.js";
import DistanceOp from "jsts/org/locationtech/jts/operation/distance/DistanceOp.js";

const factory = new GeometryFactory();

/** What rounding two shapes to the micrometre may cost. */
const ROUNDED = 2.5;

const multi = (outlines: readonly Outline[], turn: number, x: number, y: number) => {
  const rad = (turn * Math.PI) / 180;
  const ring = (contour: Contour) => {
    const points = contour.map(
      (p) =>
        new Coordinate(
          Math.round(Math.cos(rad) * p.x - Math.sin(rad) * p.y + x),
          Math.round(Math.sin(rad) * p.x + Math.cos(rad) * p.y + y),
        ),
    );
    return factory.createLinearRing([...points, points[0]]);
  };
  return factory.createMultiPolygon(outlines.map((o) => factory.createPolygon(ring(o.outer), o.openings.map(ring))));
};

/** Sentences of what is wrong with a sheet. */
export const objections = (
  placed: readonly { readonly footprint: number; readonly turn: number; readonly x: number; readonly y: number }[],
  footprints: readonly Footprint[],
  field: Field,
): string[] => {
  const wrong: string[] = [];
  const shapes = placed.map((p) => multi(footprints[p.footprint]?.shape ?? [], p.turn, p.x, p.y));
  const cores = placed.map((p) => multi(footprints[p.footprint]?.core ?? [], p.turn, p.x, p.y));
  const keepOuts = field.keepOuts.map((contour) => multi([{ outer: contour, openings: [] }], 0, 0, 0));
  const leaves = (g: (typeof shapes)[number], r: Field["bounds"]): boolean => {
    const box = g.getEnvelopeInternal();
    return (
      box.getMinX() < r.x - 1 ||
      box.getMinY() < r.y - 1 ||
      box.getMaxX() > r.x + r.width + 1 ||
      box.getMaxY() > r.y + r.height + 1
    );
  };
  shapes.forEach((a, i) => {
    if (leaves(a, field.bounds)) wrong.push(`piece ${i} leaves the bounds`);
    if (leaves(cores[i] as typeof a, field.coreBounds)) wrong.push(`piece ${i} has its core out of bounds`);
    const reach = a.getEnvelopeInternal().copy();
    reach.expandBy(field.clearance);
    const check = (b: typeof a, clearance: number, name: string): void => {
      if (!reach.intersects(b.getEnvelopeInternal())) return;
      const apart = DistanceOp.distance(a, b) as number;
      if (apart >= clearance - ROUNDED && apart > 0) return;
      if (clearance > ROUNDED) wrong.push(`piece ${i} is ${apart} um from ${name}`);
      else {
        // Touching is allowed: a shared sliver no wider than rounding is not an overlap.
        const shared = OverlayOp.intersection(a, b);
        if (shared.getArea() > (ROUNDED * shared.getLength()) / 2) wrong.push(`piece ${i} overlaps ${name}`);
      }
    };
    for (let j = 0; j < i; j++) check(shapes[j] as typeof a, field.clearance, `piece ${j}`);
    keepOuts.forEach((b, j) => check(b, 0, `keep-out ${j}`));
  });
  return wrong;
};
