import { type Colour, type Finding, type Piece, type Shop } from "@kitforme/kit";
import { inkLimitOf } from "@kitforme/prepress";
import { say } from "./words.ts";

/** Slots whose colour, written in inks, lays more on the paper than the press takes: letters that smear and set off. */
export const slotInks = (pieces: readonly Piece[], shop: Shop): Finding[] =>
  pieces.flatMap(({ kit, piece, stock, slots }) => {
    const press = shop.stocks[stock]?.press;
    if (press?.colour !== "cmyk") return [];
    const limit = inkLimitOf(press);
    return slots.flatMap((slot) => {
      if (slot.kind !== "text") return [];
      const ink = Math.max(inkOf(slot.colour), slot.outline ? inkOf(slot.outline.colour) : 0);
      return ink > limit ? [say("slot-ink", { kit, piece, slot: slot.slot }, { ink, limit })] : [];
    });
  });

/** Percent, summed over the plates; a colour of the screen is brought within the limit by itself. */
const inkOf = (colour: Colour): number => (typeof colour === "string" ? 0 : colour.reduce((sum, ink) => sum + ink, 0));
