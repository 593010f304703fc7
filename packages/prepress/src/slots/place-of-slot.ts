import type { Um } from "@kitforme/geometry";
import type { Piece, Place, Press, Slot } from "@kitforme/kit";

/** Where findings about a slot are. */
export const placeOfSlot = ({ kit, piece }: Piece, { slot, side }: Slot): Place => ({
  kit,
  piece,
  ...(side ? { side } : {}),
  slot,
});

/**
 * How far what is set in a slot stays from any line: the cut follows the front's print, and the back's may lie off that by the
 * press's register.
 */
export const safeOf = ({ safe, side }: Slot, { register }: Press): Um => (side === "back" ? safe + register : safe);
