import type { Ink } from "@kitforme/prepress";
import type { SpotInk } from "@kitforme/sheet";

/** One number for each ink of a press of four. */
export type Plates = [c: number, m: number, y: number, k: number];

/** Shares from 0 to 1; a grey of a CMYK press is black ink, a spot ink lies on no plate of these, `All` on each. */
export const platesOfInk = (ink: Ink | SpotInk): Plates =>
  ink.space === "spot"
    ? (Array.from({ length: 4 }, () => (ink.name === "All" ? ink.tint : 0)) as Plates)
    : ink.space === "cmyk"
      ? [ink.c, ink.m, ink.y, ink.k]
      : ink.space === "grey"
        ? [0, 0, 0, 1 - ink.g]
        : [0, 0, 0, 0];
