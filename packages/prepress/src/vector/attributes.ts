import { IDENTITY, type Matrix } from "@kitforme/geometry";
import { Obstacle } from "./shapes.ts";

/** A number of the normal form. */
export const numberOf = (text: string | undefined, otherwise: number): number => {
  if (text === undefined) return otherwise;
  const value = Number(text);
  if (!Number.isFinite(value)) throw new Obstacle(`a number written as ${text.slice(0, 40)}`);
  return value;
};

/** A transform of the normal form: always one matrix. */
export const transformOf = (text: string | undefined): Matrix => {
  if (text === undefined) return IDENTITY;
  const n = (/^matrix\(([^)]*)\)$/.exec(text.trim())?.[1] ?? "")
    .trim()
    .split(/[\s,]+/)
    .map(Number);
  if (n.length !== 6 || !n.every(Number.isFinite)) throw new Obstacle(`a transform written as ${text.slice(0, 40)}`);
  return n as unknown as Matrix;
};

/** The name in url(#name). */
export const nameIn = (text: string | undefined): string | undefined => /^url\(#(.+)\)$/.exec(text ?? "")?.[1];
