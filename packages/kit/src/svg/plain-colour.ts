// Colours as every renderer reads them: hwb() and the newer ways to write rgb() and hsl() (CSS Color 4) as rgb() and rgba()
// with whole numbers between commas.

const CALL = /\b(rgba?|hsla?|hwb)\(\s*([^()]*)\)/gi;

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

const channelsOf = (name: string, [a = "", b = "", c = ""]: readonly string[]): number[] => {
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
    if (parts.length < 3 || parts.length > 4) return whole;
    const channels = channelsOf(
      name,
      parts.map((one) => (one === "none" ? "0" : one)),
    ).map((one) => Math.round(one * 255));
    const alpha = parts[3] === undefined ? 1 : share(parts[3], 1);
    if (![...channels, alpha].every(Number.isFinite)) return whole;
    return alpha === 1 ? `rgb(${channels.join(",")})` : `rgba(${channels.join(",")},${Number(alpha.toFixed(4))})`;
  });
