import type { BleedMade, PixelGrid } from "@kitforme/bleed";
import type { Outline } from "@kitforme/geometry";
import { changeAcross, deviceLimits, LAB } from "./change-across.ts";
import { insideOf } from "./inside-of.ts";
import { type Across, acrossOf, isClear, readAcross } from "./line-across.ts";
import { drawnAt, type PrintedAt, printedAt } from "./printed-at.ts";
import { type Change, type ColourRun, runsOf } from "./runs-of.ts";
import { type Station, walkCut } from "./walk-cut.ts";

/** The cut is looked at every so many µm. */
const STEP = 500;

/** Device values of many pixels to CIE L*a*b*, 8 bits: L* from 0 to 100 as 0 to 255, a* and b* from -128 as 0. */
export type ToLab = (values: Uint8Array) => Promise<Uint8Array>;

/** What is looked at, and how far the bleed reaches beyond the cut (µm). */
export interface CutRequest {
  readonly grid: PixelGrid;
  readonly made: BleedMade;
  readonly parts: readonly Outline<"drawing">[];
  readonly bleed: number;
}

/**
 * Finds where the colour of the designer's own bleed is another than that at the cut, along so much of it that a cut a little
 * off shows a line of it. Colours are read on lines across the cut; only those are converted whose ends differ.
 *
 * @returns the runs of the cut, the longest first
 */
export const compareAtCut = async (
  { grid, made, parts, bleed }: CutRequest,
  toLab: ToLab,
): Promise<readonly ColourRun[]> => {
  const across = acrossOf(grid, bleed);
  if (made.own === 0 || grid.depth !== 8 || !across) return [];
  const read = printedAt(grid, made);
  const inside = insideOf(parts);
  const drawn = drawnAt(grid, read);
  const counts = (station: Station): boolean => {
    const { x, y, outX, outY } = station;
    const [, beyond] = across.middles;
    return isClear(station, across, inside) && drawn(x + beyond * outX, y + beyond * outY);
  };
  // Few rings are left of most pieces, and only their colours are converted.
  const found = walkCut(parts, STEP).flatMap(({ stations, step }) => {
    const changes = suspectsOf(stations, across, read);
    if (runsOf(stations, step, changes, across).length === 0) return [];
    for (const i of changes.keys()) if (!counts(stations[i] as Station)) changes.delete(i);
    return [{ stations, step, changes }];
  });
  if (found.length === 0) return [];
  const lines = found.flatMap(({ changes }) => [...changes.values()].map(({ values }) => values));
  const size = across.depths.length;
  const all = new Uint8Array(size * across.colours * lines.length);
  for (const [n, values] of lines.entries()) all.set(values, n * values.length);
  const lab = await toLab(all);
  let n = 0;
  const runs = found.flatMap(({ stations, step, changes }) => {
    const seen = new Map<number, Change>();
    for (const [i, { values }] of changes) {
      const off = changeAcross(lab.subarray(3 * size * n, 3 * size * ++n), across, LAB);
      if (off !== undefined) seen.set(i, { off, values });
    }
    return runsOf(stations, step, seen, across);
  });
  return runs.sort((a, b) => b.length - a.length || a.at[0] - b.at[0] || a.at[1] - b.at[1]);
};

/** The stations where device values change. */
const suspectsOf = (stations: readonly Station[], across: Across, read: PrintedAt): Map<number, Change> => {
  const limits = deviceLimits(across.colours);
  const values = new Uint8Array(across.depths.length * across.colours);
  const found = new Map<number, Change>();
  for (const [i, station] of stations.entries()) {
    if (!readAcross(station, across, read, values)) continue;
    const off = changeAcross(values, across, limits);
    if (off !== undefined) found.set(i, { off, values: values.slice() });
  }
  return found;
};
