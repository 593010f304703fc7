import { type Finding, type Piece, type Shop } from "@kitforme/kit";
import { placeTabs } from "@kitforme/sheet";
import { say } from "./words.ts";

/** Pieces whose outlines have room for fewer tabs than their cutter is asked to leave: they come loose on the bed. */
export const tabsShort = (pieces: readonly Piece[], shop: Shop): Finding[] =>
  pieces.flatMap((piece) => {
    const { kit, piece: name, stock, parts, lines } = piece;
    const tabs = shop.stocks[stock]?.cutter.path.tabs;
    if (!tabs) return [];
    const creases = lines.flatMap(({ operation, points }) => (operation === "creasing" ? [points] : []));
    const found = parts.map(({ outer }) => placeTabs(outer, creases, tabs).length);
    const least = Math.min(...found);
    if (least >= tabs.count) return [];
    return [say("tabs-short", { kit, piece: name, stock }, { wanted: tabs.count, found: least })];
  });
