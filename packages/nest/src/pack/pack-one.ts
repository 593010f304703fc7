import type { Effort, Field, Footprint } from "../shapes/footprint.ts";
import { faultsOf } from "../proof/verify.ts";
import { Catalogues } from "../maps/catalogues.ts";
import { areaOfField, roomOf } from "../maps/room.ts";
import { construct } from "../start/construct.ts";
import { GRANTED, PATIENCE, REACH } from "../search/effort.ts";
import { empty } from "../search/improve.ts";
import { layoutOf } from "./layout.ts";
import type { Packed, PackItem } from "./packed.ts";

/** Whether all items go onto one sheet of this field, and how. `quick` answers within milliseconds and may miss a way. */
export const packOne = (
  footprints: readonly Footprint[],
  field: Field,
  items: readonly PackItem[],
  effort: Effort,
  seed: number,
  catalogues = new Catalogues(),
): Packed | null => {
  const fields = [field];
  const catalogue = catalogues.of(footprints, fields, false);
  const list = items.map((item) => item.footprint);
  const area = list.reduce((sum, k) => sum + catalogue.kinds[k].area, 0);
  if (area > areaOfField(field)) return null;
  const starts = effort === "quick" ? 4 : 8;
  const filled = construct(
    catalogue,
    fields,
    list,
    footprints.map(() => 0),
    starts,
    1,
    (f) => f.over.length === 0,
  );
  const start = layoutOf(filled, list);
  // More than a third left over is no matter of better arranging.
  const over = filled.over.reduce((sum, i) => sum + catalogue.kinds[list[i]].area, 0);
  const hopeless = effort === "quick" || over > area / 3 || filled.beds.length === 0;
  const layout =
    filled.over.length === 0 || hopeless
      ? start
      : empty(catalogue, start, roomOf(fields), seed, {
          moves: (GRANTED[effort].moves / 4) * list.length,
          patience: PATIENCE,
          reach: REACH,
          aborted: () => false,
        });
  if (layout.sheet.some((s) => s < 0)) return null;
  const placed = list.map((footprint, i) => ({
    footprint,
    turn: catalogue.poses[layout.pose[i]].turn,
    x: layout.x[i],
    y: layout.y[i],
  }));
  if (faultsOf(placed, footprints, field).length > 0) return null;
  return {
    field: 0,
    placements: items.map((item, i) => ({
      key: item.key,
      turn: catalogue.poses[layout.pose[i]].turn,
      x: layout.x[i],
      y: layout.y[i],
    })),
  };
};
