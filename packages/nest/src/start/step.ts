import type { Catalogue } from "../maps/catalogue.ts";
import type { Box } from "../shapes/ring.ts";
import { TOUCH } from "./bed.ts";
import { linesOf, ROUNDING_UP, type Unit } from "./units.ts";

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
export const pitchesOf = (catalogue: Catalogue, unit: Unit, along: boolean, inner: readonly Box[]): number[] => {
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
export const stepOf = (
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
