// The JTS topology suite as a judge of areas: buffers and unions by other people's code.
import type { Contour, Outline } from "@kitforme/geometry";
import GeometryFactory from "jsts/org/locationtech/jts/geom/GeometryFactory.js";
import WKTReader from "jsts/org/locationtech/jts/io/WKTReader.js";
import BufferOp from "jsts/org/locationtech/jts/operation/buffer/BufferOp.js";
import OverlayOp from "jsts/org/locationtech/jts/operation/overlay/OverlayOp.js";

/** What we ask of a JTS geometry. */
export interface Judged {
  getArea(): number;
  isValid(): boolean;
}

const ring = (c: Contour): string => `(${[...c, ...c.slice(0, 1)].map((p) => `${p.x} ${p.y}`).join(", ")})`;

export const toJts = (outlines: readonly Outline[]): Judged =>
  new WKTReader(new GeometryFactory()).read(
    `MULTIPOLYGON (${outlines.map((o) => `(${[o.outer, ...o.openings].map(ring).join(", ")})`).join(", ")})`,
  );

/** The buffer with 64 segments to a quarter circle. */
export const buffered = (outlines: readonly Outline[], by: number): Judged =>
  BufferOp.bufferOp(toJts(outlines), by, 64);

export const symmetricDifference = (a: Judged, b: Judged): Judged => OverlayOp.overlayOp(a, b, OverlayOp.SYMDIFFERENCE);
export const united = (a: Judged, b: Judged): Judged => OverlayOp.overlayOp(a, b, OverlayOp.UNION);
export const shared = (a: Judged, b: Judged): Judged => OverlayOp.overlayOp(a, b, OverlayOp.INTERSECTION);
export const without = (a: Judged, b: Judged): Judged => OverlayOp.overlayOp(a, b, OverlayOp.DIFFERENCE);
