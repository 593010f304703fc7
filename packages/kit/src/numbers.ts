import { type Point, toMm, type Um } from "@kitforme/geometry";

/** A number for people: at most three decimals, no trailing zeros, never `-0`. */
export const inFigures = (value: number): string => {
  const rounded = Math.round(value * 1000) / 1000;
  return String(rounded === 0 ? 0 : rounded);
};

/** Micrometres as millimetres for people. */
export const mmInFigures = (um: Um): string => inFigures(toMm(um));

/** A drawing point as `Place.at`: millimetres, three decimals. */
export const placeOf = (p: Point): readonly [number, number] => [
  Math.round(p.x) / 1000 || 0,
  Math.round(p.y) / 1000 || 0,
];

/** A text for a terminal or a page: what cannot be seen, or steers how it is shown, stands there as its number. */
export const plain = (text: string): string =>
  text.replace(
    /[\p{Cc}\u061c\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff]/gu,
    (c) => `\\u${c.charCodeAt(0).toString(16).padStart(4, "0")}`,
  );

/** A foreign text inside a sentence: short, on one line, with what cannot be seen made visible. */
export const quoted = (text: string): string =>
  plain(JSON.stringify(text.length > 60 ? `${text.slice(0, 57)}...` : text));
