import { outlinesArea } from "@kitforme/geometry";
import type { Field, Footprint } from "@kitforme/nest";
import type { Demand, Forme } from "./footprint.ts";

/** Share of the whole sheet that lies inside the placed pieces' cut outlines, openings not counted: 0 to 1. */
export const yieldOf = (
  forme: Pick<Forme, "field" | "placements">,
  demands: readonly Demand[],
  footprints: readonly Footprint[],
  fields: readonly Field[],
): number => {
  const field = fields[forme.field];
  if (!field) throw new Error(`layout: no field ${forme.field}`);
  const used = forme.placements.reduce((sum, { demand }) => {
    const footprint = footprints[demands[demand]?.footprint ?? -1];
    if (!footprint) throw new Error(`layout: demand ${demand} has no footprint`);
    return sum + outlinesArea(footprint.core);
  }, 0);
  return used / (field.width * field.height);
};
