// On which side of a line does a point lie? Asked with whole numbers, answered without error.
import type { Point } from "./point.ts";

/** 1 within, 0 on the edge, -1 outside. */
export type Side = 1 | 0 | -1;

/**
 * The sign of (b - a) x (p - a): 1 when p lies to the left of a->b (y up), -1 to the right, 0 on the line.
 * Exact for whole a and b, and p in halves, below 2^51. The products of two differences pass 2^53 from 67 m on, so a result that is not clearly
 * beyond the rounding of its two products (3 * 2^-53 of their size) is asked again in BigInt.
 */
export const orient = (ax: number, ay: number, bx: number, by: number, px: number, py: number): Side => {
  const left = (bx - ax) * (py - ay);
  const right = (by - ay) * (px - ax);
  const cross = left - right;
  const size = Math.abs(left) + Math.abs(right);
  if (size < 9_007_199_254_740_991 || Math.abs(cross) > size * 4e-16) return cross > 0 ? 1 : cross < 0 ? -1 : 0;
  // Twice p, because the middle of an edge may be asked for.
  const exact =
    BigInt(bx - ax) * BigInt(Math.round(2 * (py - ay))) - BigInt(by - ay) * BigInt(Math.round(2 * (px - ax)));
  return exact > 0n ? 1 : exact < 0n ? -1 : 0;
};

export const sideOf = (a: Point, b: Point, p: Point): Side => orient(a.x, a.y, b.x, b.y, p.x, p.y);

/** Is p, known to be on the line through a and b, between them (ends included)? */
export const between = (a: Point, b: Point, p: Point): boolean =>
  p.x >= Math.min(a.x, b.x) && p.x <= Math.max(a.x, b.x) && p.y >= Math.min(a.y, b.y) && p.y <= Math.max(a.y, b.y);

/** Where the lines through a,b and c,d meet, not rounded. The lines must not be parallel. */
export const meetingPlace = (a: Point, b: Point, c: Point, d: Point): Point => {
  const rx = b.x - a.x;
  const ry = b.y - a.y;
  const sx = d.x - c.x;
  const sy = d.y - c.y;
  const t = ((c.x - a.x) * sy - (c.y - a.y) * sx) / (rx * sy - ry * sx);
  return { x: a.x + t * rx, y: a.y + t * ry };
};

/** The same to the nearest micrometre. */
export const meeting = (a: Point, b: Point, c: Point, d: Point): Point => {
  const { x, y } = meetingPlace(a, b, c, d);
  return { x: Math.round(x) + 0, y: Math.round(y) + 0 };
};
