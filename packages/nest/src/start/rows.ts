// Equal pieces in rows: each row repeats a unit (a piece, or a piece and the same one turned by a half) at one pitch, each
// further row is the one before moved by the same step.
//
//        o   o   o   o        pitch  from o to o along the row
//      o   o   o   o          step   from row to row: `shift` along it, `rise` across it
//
// Whole micrometres throughout: two pieces of the pattern differ by whole pitches and steps, so that a few differences prove all.
import { type Spot, TOUCH } from "./bed.ts";
import { fitsBox } from "../maps/room.ts";
import type { Catalogue } from "../maps/catalogue.ts";
import type { Box } from "../shapes/ring.ts";

/** Shifts tried for every unit; for the most promising ones, more of them, and more yet about the best. */
const GLANCE = 6;
const SHIFTS = 32;
const CLOSER = 7;
/** Ways of laying two pieces to a unit, those of them that are looked at closely, and patterns that are counted on the sheet. */
const UNITS = 32;
const PROMISING = 8;
const COUNTED = 24;
/** Positions of the first row along itself. */
const PHASES = 8;
/** Micrometres that a contact may move outward until whole positions are clear. */
const ROUNDING_UP = 4;

/** Pieces that repeat together, relative to the first. */
type Unit = readonly Spot[];

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

/** Every pose by itself, and with the pose turned by a half in the places where the two touch. */
const unitsOf = (catalogue: Catalogue, poses: readonly number[]): Unit[] => {
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
const linesOf = (catalogue: Catalogue, u: number, v: number): Float64Array => {
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

/** Whether a unit keeps clear of itself moved by (x, y). */
const clear = (catalogue: Catalogue, unit: Unit, x: number, y: number): boolean =>
  unit.every((u) => unit.every((v) => catalogue.depth(u.pose, v.pose, v.x + x - u.x, v.y + y - u.y) <= TOUCH));

/** A unit's extent along the rows and across them, clearance included. */
const extentOf = (catalogue: Catalogue, unit: Unit, along: boolean): { long: number; high: number } => {
  const { minX, maxX, minY, maxY } = catalogue;
  const gap = catalogue.options.clearance;
  const wide = Math.max(...unit.map((s) => s.x + maxX[s.pose])) - Math.min(...unit.map((s) => s.x + minX[s.pose]));
  const tall = Math.max(...unit.map((s) => s.y + maxY[s.pose])) - Math.min(...unit.map((s) => s.y + minY[s.pose]));
  return along ? { long: wide + gap, high: tall + gap } : { long: tall + gap, high: wide + gap };
};

/**
 * Where the ray from (x, y) along a row, or across it, leaves what keeps `v` from `u`: distances along the ray, ascending.
 * `level`: the ray runs in x.
 */
const crossings = (lines: Float64Array, x: number, y: number, level: boolean): number[] => {
  const found: number[] = [];
  for (let i = 0; i < lines.length; i += 4) {
    const [ax, ay, bx, by] = lines.subarray(i, i + 4) as unknown as [number, number, number, number];
    const [p, q, r, s] = level ? [ay - y, by - y, ax - x, bx - x] : [ax - x, bx - x, ay - y, by - y];
    if (p > 0 === q > 0 && p !== 0 && q !== 0) continue;
    const at = p === q ? Math.max(r, s) : r + (p / (p - q)) * (s - r);
    if (at > 0) found.push(at);
  }
  return found;
};

/** The least distance above 0 among `found` or a little beyond at which `free` holds. */
const first = (found: number[], free: (at: number) => boolean): number | undefined => {
  found.sort((a, b) => a - b);
  let tried = 0;
  for (const at of found) {
    for (let whole = Math.max(tried + 1, Math.ceil(at - 1)); whole <= Math.ceil(at) + ROUNDING_UP; whole++) {
      if (free(whole)) return whole;
      tried = whole;
    }
  }
  return undefined;
};

/** The least pitch of a unit's row, and the one at which as many just fill the field. */
const pitchesOf = (catalogue: Catalogue, unit: Unit, along: boolean, inner: readonly Box[]): number[] => {
  const found = unit.flatMap((u) =>
    unit.flatMap((v) => crossings(linesOf(catalogue, u.pose, v.pose), v.x - u.x, v.y - u.y, along)),
  );
  const { long } = extentOf(catalogue, unit, along);
  const free = (pitch: number): boolean => {
    for (let k = 1; k === 1 || k * pitch < long; k++)
      if (!clear(catalogue, unit, along ? k * pitch : 0, along ? 0 : k * pitch)) return false;
    return true;
  };
  const least = first([...found, long], free);
  if (least === undefined) return [];
  const box = inner[unit[0].pose];
  const room = along ? box.maxX - box.minX : box.maxY - box.minY;
  const wide = Math.floor(room / Math.max(1, Math.floor(room / least)));
  return wide > least && free(wide) ? [least, wide] : [least];
};

/** The step to the next row with the least rise, of `shifts` even ones and `closer` to either side of the best of them. */
const stepOf = (
  catalogue: Catalogue,
  unit: Unit,
  along: boolean,
  pitch: number,
  shifts: number,
  closer: number,
): { readonly shift: number; readonly rise: number } | undefined => {
  const { long, high } = extentOf(catalogue, unit, along);
  const pairs = unit.flatMap((u) => unit.map((v) => ({ u, v, lines: linesOf(catalogue, u.pose, v.pose) })));
  const reach = Math.ceil(long / pitch);
  const riseAt = (shift: number): number | undefined => {
    const found = [high];
    for (const { u, v, lines } of pairs)
      for (let k = -reach; k <= reach; k++) {
        const by = shift + k * pitch;
        found.push(...crossings(lines, v.x - u.x + (along ? by : 0), v.y - u.y + (along ? 0 : by), !along));
      }
    return first(found, (rise) => {
      for (let row = 1; row === 1 || row * rise < high; row++)
        for (let k = -reach - 1; k <= reach; k++) {
          const by = ((row * shift) % pitch) + k * pitch;
          if (!clear(catalogue, unit, along ? by : row * rise, along ? row * rise : by)) return false;
        }
      return true;
    });
  };
  let best: { shift: number; rise: number } | undefined;
  const attempt = (shift: number): void => {
    const rise = riseAt(shift);
    if (rise !== undefined && (!best || rise < best.rise)) best = { shift, rise };
  };
  for (let k = 0; k < shifts; k++) attempt(Math.round((pitch * k) / shifts));
  const about = best?.shift ?? 0;
  for (let k = -closer; k <= closer; k++)
    attempt((Math.round(about + (pitch * k) / ((closer + 1) * shifts)) + pitch) % pitch);
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
