import type { Finding, Shop } from "@kitforme/kit";
import type { PreparedPiece } from "@kitforme/prepress";
import { slotInks } from "./slot-inks.ts";
import { spotClashes } from "./spot-clashes.ts";
import { tabsShort } from "./tabs-short.ts";

/** What press and cutter cannot do with pieces that are right by themselves: too few tabs, too much ink, one ink mixed twice. */
export const machineFaults = (prepared: readonly PreparedPiece[], shop: Shop): Finding[] => {
  const pieces = prepared.map(({ piece }) => piece);
  return [...tabsShort(pieces, shop), ...slotInks(pieces, shop), ...spotClashes(prepared, shop)];
};
