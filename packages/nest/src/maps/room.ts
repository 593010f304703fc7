import type { Field } from "../shapes/footprint.ts";
import type { Box } from "../shapes/ring.ts";

export const areaOfField = (field: Field): number => field.bounds.width * field.bounds.height;

/** Area a sheet has for shapes. Keep-outs are not taken off: they often lie beyond the bounds. */
export const roomOf = (fields: readonly Field[]): number[] => fields.map(areaOfField);

export const fitsBox = (box: Box): boolean => box.maxX >= box.minX && box.maxY >= box.minY;
