import type { Field, Footprint } from "./footprint.ts";

const whole = (degrees: number): number => ((degrees % 360) + 360) % 360;

/** Whether a piece may lie at this turn on the field: its axis must run along the field's. */
const alongAxis = (degrees: number, footprint: Footprint, field: Field): boolean => {
  if (!footprint.axis || !field.axis) return true;
  const half = whole(degrees) % 180;
  return half === (footprint.axis === field.axis ? 0 : 90);
};

/**
 * The turns in which a footprint may lie on a field, degrees counter-clockwise. Free rotation is sampled at `free` even
 * steps (a multiple of four, so that the quarter turns are among them); with an axis only the half turns remain.
 */
export const turnsOn = (footprint: Footprint, field: Field, free = 16): number[] => {
  const wanted =
    footprint.turns === "any" ? Array.from({ length: free }, (_, k) => (360 * k) / free) : footprint.turns.map(whole);
  return [...new Set(wanted)].filter((turn) => alongAxis(turn, footprint, field));
};
