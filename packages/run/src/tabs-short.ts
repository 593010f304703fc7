import { type Finding, type Piece, type Shop } from "@kitforme/kit";
import { awayFromTabs, placeTabs } from "@kitforme/sheet";
import { say } from "./words.ts";

/** Pieces whose outlines have room for fewer tabs than their cutter is asked to leave: they come loose on the bed. */
export const tabsShort = (pieces: readonly Piece[], shop: Shop): Finding[] =>
  pieces.flatMap((piece) => {
    const { kit, piece: name, stock, parts, lines } = piece;
    const tabs = shop.stocks[stock]?.cutter.path.tabs;
    if (!tabs) return [];
    const away = awayFromTabs(lines);
    const found = parts.map(({ outer }) => placeTabs(outer, away, tabs).length);
    const least = Math.min(...found);
    if (least >= tabs.count) return [];
    return [say("tabs-short", { kit, piece: name, stock }, { wanted: tabs.count, found: least })];
  });
