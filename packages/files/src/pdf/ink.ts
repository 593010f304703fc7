import type { Press } from "@kitforme/kit";
import type { Ink } from "@kitforme/prepress";
import { decimal } from "../decimal.ts";

const share = (value: number): string => decimal(value, 4);

/**
 * The operator that makes an ink the fill colour on a press. On a CMYK press grey and the black of an RGB pen are K alone,
 * so that codes and small type stand on one plate.
 */
export const fillWith = (ink: Ink, colour: Press["colour"]): string => {
  if (ink.space === "cmyk" && colour === "cmyk") return `${[ink.c, ink.m, ink.y, ink.k].map(share).join(" ")} k`;
  if (ink.space === "rgb" && colour === "rgb") return `${[ink.r, ink.g, ink.b].map(share).join(" ")} rg`;
  // K alone on a CMYK press; on the others DeviceGray: three equal lights of an RGB press come out as four inks.
  const black = blackOf(ink);
  if (black === undefined)
    throw new Error(`an ink of ${ink.space} reached a ${colour} press: prepress turns colours, not the writer`);
  if (colour === "cmyk") return `0 0 0 ${share(black)} k`;
  return `${share(1 - black)} g`;
};

/** The operator that makes an ink the stroke colour on a press. */
export const strokeWith = (ink: Ink, colour: Press["colour"]): string =>
  fillWith(ink, colour).replace(/[a-z]+$/, (operator) => operator.toUpperCase());

/** Share of black of a neutral ink; undefined for a coloured one. */
const blackOf = (ink: Ink): number | undefined => {
  if (ink.space === "grey") return 1 - ink.g;
  if (ink.space === "cmyk") return ink.c === 0 && ink.m === 0 && ink.y === 0 ? ink.k : undefined;
  return ink.r === ink.g && ink.g === ink.b ? 1 - ink.r : undefined;
};

/** Nothing but black: overprinted, so that fine type needs no register with the colours under it (common practice). */
export const isBlackOnly = (ink: Ink): boolean => blackOf(ink) === 1;
