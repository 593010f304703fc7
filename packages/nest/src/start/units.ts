import type { Catalogue } from "../maps/catalogue.ts";
import { type Spot, TOUCH } from "./bed.ts";

/** Ways of laying two pieces to a unit. */
const UNITS = 32;
/** Micrometres that a contact may move outward until whole positions are clear. */
export const ROUNDING_UP = 4;

/** Pieces that repeat together, relative to the first. */
export type Unit = readonly Spot[];

/** Every pose by itself, and with the pose turned by a half in the places where the two touch. */
export const unitsOf = (catalogue: Catalogue, poses: readonly number[]): Unit[] => {
  const turnOf = (p: number): number => catalogue.poses[p].turn;
  const units: Unit[] = [];
  for (const p of poses) {
    const q = poses.find((r) => Math.abs(Math.abs(turnOf(r) - turnOf(p)) - 180) < 1e-9);
    // A pattern turned by a half is a pattern: the turned piece alone makes the same rows, and (q, p) the same pairs.
    if (q !== undefined && q < p) continue;
    units.push([{ pose: p, x: 0, y: 0 }]);
    if (q === undefined) continue;
    const touching = contactPlaces(catalogue, p, q);
    const every = Math.max(1, touching.length / UNITS);
    for (let k = 0; k < touching.length; k += every) {
      const at = touching[Math.floor(k)] as { x: number; y: number };
      units.push([
        { pose: p, x: 0, y: 0 },
        { pose: q, x: at.x, y: at.y },
      ]);
    }
  }
  return units;
};

/** Contact lines of pose `v` about pose `u` on the sheet, ax ay bx by. */
export const linesOf = (catalogue: Catalogue, u: number, v: number): Float64Array => {
  const lines = catalogue.contacts(u, v);
  const at = 4 * (u * catalogue.poses.length + v);
  const [a, b, d, e] = [0, 1, 2, 3].map((k) => catalogue.pairTurn[at + k]) as [number, number, number, number];
  return lines.map((_, i, k) => {
    const even = i - (i % 2);
    const [x, y] = [k[even], k[even + 1]];
    return i % 2 === 0 ? a * x + d * y : b * x + e * y;
  });
};

/** Whole places where `v` touches `u`: ends and middles of the contact lines, where they are clear. */
const contactPlaces = (catalogue: Catalogue, u: number, v: number): { x: number; y: number }[] => {
  const lines = linesOf(catalogue, u, v);
  const places: { x: number; y: number }[] = [];
  const offer = (x: number, y: number): void => {
    for (let out = 0; out < ROUNDING_UP; out++) {
      const far = Math.hypot(x, y) || 1;
      const px = Math.round(x + (out * x) / far);
      const py = Math.round(y + (out * y) / far);
      if (catalogue.depth(u, v, px, py) > TOUCH) continue;
      places.push({ x: px, y: py });
      return;
    }
  };
  for (let i = 0; i < lines.length; i += 4) {
    const [ax, ay, bx, by] = lines.subarray(i, i + 4) as unknown as [number, number, number, number];
    offer(ax, ay);
    offer((ax + bx) / 2, (ay + by) / 2);
  }
  return places;
};
