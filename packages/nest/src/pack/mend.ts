import type { Field, Footprint } from "../shapes/footprint.ts";
import { faultsOf } from "../proof/verify.ts";
import type { Catalogue } from "../maps/catalogue.ts";
import { construct } from "../start/construct.ts";
import { joined, type Layout, layoutOf } from "./layout.ts";

/** Takes off what the proof refuses: of every two pieces in conflict the later one. */
const withoutFaults = (
  catalogue: Catalogue,
  footprints: readonly Footprint[],
  fields: readonly Field[],
  layout: Layout,
): { readonly layout: Layout; readonly off: readonly number[] } => {
  const off = new Set<number>();
  layout.fields.forEach((f, s) => {
    const pieces = layout.kinds.map((_, i) => i).filter((i) => layout.sheet[i] === s);
    const placed = pieces.map((i) => ({
      footprint: layout.kinds[i],
      turn: catalogue.poses[layout.pose[i]].turn,
      x: layout.x[i],
      y: layout.y[i],
    }));
    for (const breach of faultsOf(placed, footprints, fields[f])) {
      const mine = breach.pieces.map((k) => pieces[k]);
      if (!mine.some((i) => off.has(i))) off.add(Math.max(...mine));
    }
  });
  return {
    layout: { ...layout, sheet: layout.sheet.map((s, i) => (off.has(i) ? -1 : s)) },
    off: [...off].sort((a, b) => a - b),
  };
};

/**
 * The proof before anything leaves: pieces it refuses are placed anew on sheets of their own, alone if need be. The maps of
 * the search are exact but for a lattice of 1/64 um, so this finds work only where they are wrong.
 */
export const mend = (
  catalogue: Catalogue,
  footprints: readonly Footprint[],
  fields: readonly Field[],
  home: readonly number[],
  searched: Layout,
  maxSheets: number,
): { readonly layout: Layout; readonly mended: number } => {
  let { layout, off } = withoutFaults(catalogue, footprints, fields, searched);
  const mended = off.length;
  for (let round = 0; off.length > 0 && layout.fields.length < maxSheets && round < 2; round++) {
    // First together; what the proof refuses again, alone.
    const batches = round === 0 ? [off] : off.map((i) => [i]);
    const fresh = batches.map((pieces) => {
      const kinds = pieces.map((i) => layout.kinds[i]);
      return {
        pieces,
        layout: layoutOf(
          construct(catalogue, fields, kinds, home, 1, Infinity, () => true),
          kinds,
        ),
      };
    });
    const kept = { layout, pieces: layout.kinds.map((_, i) => i) };
    ({ layout, off } = withoutFaults(catalogue, footprints, fields, joined(layout, [kept, ...fresh])));
  }
  return { layout, mended };
};
