// Equal pieces in rows: each row repeats a unit (a piece, or a piece and the same one turned by a half) at one pitch, each
// further row is the one before moved by the same step.
//
//        o   o   o   o        pitch  from o to o along the row
//      o   o   o   o          step   from row to row: `shift` along it, `rise` across it
//
// Whole micrometres throughout: two pieces of the pattern differ by whole pitches and steps, so that a few differences prove all.
import type { Catalogue } from "../maps/catalogue.ts";
import { fitsBox } from "../maps/room.ts";
import { type Spot, TOUCH } from "./bed.ts";
import { pitchesOf, stepOf } from "./step.ts";
import { type Unit, unitsOf } from "./units.ts";

/** Shifts tried for every unit; for the most promising ones, more of them, and more yet about the best. */
const GLANCE = 6;
const SHIFTS = 32;
const CLOSER = 7;
/** Units that are looked at closely, and patterns that are counted on the sheet. */
const PROMISING = 8;
const COUNTED = 24;
/** Positions of the first row along itself. */
const PHASES = 8;

interface Rows {
  readonly unit: Unit;
  /** Rows run along x (true) or along y. */
  readonly along: boolean;
  readonly pitch: number;
  readonly shift: number;
  readonly rise: number;
}

/** The pattern of rows with most pieces of a kind on a field, as spots clear of one another and of its keep-outs. */
export const rowsOf = (catalogue: Catalogue, field: number, kind: number): Spot[] => {
  const inner = catalogue.inner[field];
  const poses = (catalogue.posesOn[field]?.[kind] ?? []).filter((p) => fitsBox(inner[p]));
  const thrift = ({ unit, pitch, rise }: Rows): number => (pitch * rise) / unit.length;
  const found = (ways: readonly Pick<Rows, "unit" | "along">[], shifts: number, closer: number): Rows[] =>
    ways
      .flatMap(({ unit, along }) =>
        pitchesOf(catalogue, unit, along, inner)
          .slice(0, closer > 0 ? 2 : 1)
          .flatMap((pitch) => {
            const step = stepOf(catalogue, unit, along, pitch, shifts, closer);
            return step ? [{ unit, along, pitch, ...step }] : [];
          }),
      )
      .sort((a, b) => thrift(a) - thrift(b));
  const ways = unitsOf(catalogue, poses).flatMap((unit) => [true, false].map((along) => ({ unit, along })));
  const patterns = found(found(ways, GLANCE, 0).slice(0, PROMISING), SHIFTS, CLOSER);
  let best: Spot[] = [];
  for (const rows of patterns.slice(0, COUNTED))
    for (let phase = 0; phase < PHASES; phase++) {
      const spots = laidOut(catalogue, field, rows, Math.round((rows.pitch * phase) / PHASES));
      if (spots.length > best.length) best = spots;
    }
  return best;
};

/** The pieces of a pattern that lie in the field and off its keep-outs; the first row begins `phase` after the edge. */
const laidOut = (catalogue: Catalogue, field: number, rows: Rows, phase: number): Spot[] => {
  const { unit, along, pitch, shift, rise } = rows;
  const inner = catalogue.inner[field];
  const obstacles = catalogue.obstacles[field] ?? [];
  const spots: Spot[] = [];
  // Where the first piece may begin so that some piece of the unit still lies in the field.
  const box = unit.reduce(
    (all, { pose, x, y }) => {
      const b = inner[pose];
      return {
        minX: Math.min(all.minX, b.minX - x),
        maxX: Math.max(all.maxX, b.maxX - x),
        minY: Math.min(all.minY, b.minY - y),
        maxY: Math.max(all.maxY, b.maxY - y),
      };
    },
    { minX: Infinity, maxX: -Infinity, minY: Infinity, maxY: -Infinity },
  );
  const [from, to, low, high] = (
    along ? [box.minX, box.maxX, box.minY, box.maxY] : [box.minY, box.maxY, box.minX, box.maxX]
  ).map((v, i) => (i % 2 === 0 ? Math.ceil(v) : Math.floor(v))) as [number, number, number, number];
  for (let row = 0; low + row * rise <= high; row++)
    for (let at = from + ((phase + row * shift) % pitch); at <= to; at += pitch)
      for (const { pose, x, y } of unit) {
        const b = inner[pose];
        const px = x + (along ? at : low + row * rise);
        const py = y + (along ? low + row * rise : at);
        if (px < b.minX || px > b.maxX || py < b.minY || py > b.maxY) continue;
        if (obstacles.some((o) => catalogue.depth(o.pose, pose, px - o.x, py - o.y) > TOUCH)) continue;
        spots.push({ pose, x: px, y: py });
      }
  return spots;
};
