// Colours as every renderer reads them: lab(), oklch(), hwb() and the newer ways to write rgb() and hsl() (CSS Color 4) as rgb()
// and rgba() with whole numbers between commas.
import { wideColour } from "./wide-colour.ts";

const CALL = /(?<![\w-])(rgba?|hsla?|hwb|lab|lch|oklab|oklch|color)\(\s*([^()]*)\)/gi;

/** A share from 0 to 1: a percentage, or a number of `whole`. */
const share = (text: string, whole: number): number => {
  const value = text.endsWith("%") ? Number(text.slice(0, -1)) / 100 : Number(text) / whole;
  return Math.min(1, Math.max(0, value));
};

/** Degrees, from 0 up to 360. */
const hue = (text: string): number => {
  const found = /^([+-]?[\d.]+(?:e[+-]?\d+)?)(deg|rad|grad|turn)?$/i.exec(text);
  const turn = { deg: 360, rad: 2 * Math.PI, grad: 400, turn: 1 }[found?.[2]?.toLowerCase() ?? "deg"] ?? 360;
  return ((((Number(found?.[1]) / turn) * 360) % 360) + 360) % 360;
};

/** A channel of the pure hue, 0 to 1, by CSS Color 4, 7.1. */
const fromHsl = (h: number, s: number, l: number): number[] =>
  [0, 8, 4].map((n) => {
    const k = (n + h / 30) % 12;
    return l - s * Math.min(l, 1 - l) * Math.max(-1, Math.min(k - 3, 9 - k, 1));
  });

const channelsOf = (name: string, parts: readonly string[]): number[] | undefined => {
  if (/^(ok)?l(ab|ch)$|^color$/i.test(name)) return wideColour(name, parts, hue);
  const [a = "", b = "", c = ""] = parts;
  if (/^rgb/i.test(name)) return [a, b, c].map((one) => share(one, 255));
  if (/^hsl/i.test(name)) return fromHsl(hue(a), share(b, 100), share(c, 100));
  const [white, black] = [share(b, 100), share(c, 100)];
  const sum = white + black;
  return sum >= 1
    ? [white / sum, white / sum, white / sum]
    : fromHsl(hue(a), 1, 0.5).map((one) => one * (1 - sum) + white);
};

/** The value with its colours in the plain notation; what cannot be read stays as it is. */
export const plainColours = (value: string): string =>
  value.replace(CALL, (whole: string, name: string, inner: string) => {
    const parts = inner.split(/[\s,/]+/).filter((one) => one !== "");
    const most = /^color$/i.test(name) ? 4 : 3;
    if (parts.length < most || parts.length > most + 1) return whole;
    const channels = channelsOf(
      name,
      parts.map((one) => (one === "none" ? "0" : one)),
    )?.map((one) => Math.round(one * 255));
    const opacity = parts[most];
    const alpha = opacity === undefined ? 1 : share(opacity, 1);
    if (!channels || ![...channels, alpha].every(Number.isFinite)) return whole;
    return alpha === 1 ? `rgb(${channels.join(",")})` : `rgba(${channels.join(",")},${Number(alpha.toFixed(4))})`;
  });
