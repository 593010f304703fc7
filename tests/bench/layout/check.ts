// A second opinion on layouts: jsts intersections of the original polygons, nothing of ours.
import Coordinate from "jsts/org/locationtech/jts/geom/Coordinate.js";
import GeometryFactory from "jsts/org/locationtech/jts/geom/GeometryFactory.js";
import OverlayOp from "jsts/org/locationtech/jts/operation/overlay/OverlayOp.js";

export type Polygon = readonly (readonly [number, number])[];

const factory = new GeometryFactory();

export const turnedPolygon = (polygon: Polygon, degrees: number, x: number, y: number): Polygon => {
  const rad = (degrees * Math.PI) / 180;
  const exact = degrees % 90 === 0;
  const cos = exact ? Math.round(Math.cos(rad)) : Math.cos(rad);
  const sin = exact ? Math.round(Math.sin(rad)) : Math.sin(rad);
  return polygon.map(([px, py]) => [cos * px - sin * py + x, sin * px + cos * py + y] as const);
};

const geometryOf = (polygon: Polygon) => {
  const ring = [...polygon, polygon[0] as readonly [number, number]].map(([x, y]) => new Coordinate(x, y));
  return factory.createPolygon(factory.createLinearRing(ring));
};

/** The largest area that two of the polygons share, and how far the farthest leaves the box 0..width, 0..height. */
export const worst = (
  polygons: readonly Polygon[],
  width: number,
  height: number,
): { overlap: number; outside: number } => {
  let outside = 0;
  const boxes = polygons.map((polygon) => {
    const xs = polygon.map((p) => p[0]);
    const ys = polygon.map((p) => p[1]);
    const box = [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)] as const;
    outside = Math.max(outside, -box[0], -box[1], box[2] - width, box[3] - height);
    return box;
  });
  const shapes = polygons.map(geometryOf);
  let overlap = 0;
  boxes.forEach((a, i) => {
    for (let j = 0; j < i; j++) {
      const b = boxes[j] as typeof a;
      if (a[0] >= b[2] || b[0] >= a[2] || a[1] >= b[3] || b[1] >= a[3]) continue;
      overlap = Math.max(overlap, OverlayOp.intersection(shapes[i], shapes[j]).getArea());
    }
  });
  return { overlap, outside };
};
