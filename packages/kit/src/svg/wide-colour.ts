// Colours by how they look, and of screens wider than sRGB (CSS Color 4, sections 9 to 12 and its sample code), as sRGB.

type Three = readonly [number, number, number];
type Rows = readonly [Three, Three, Three];

const by = (rows: Rows, [x, y, z]: Three): Three => rows.map(([a, b, c]) => a * x + b * y + c * z) as unknown as Three;

/** XYZ under D65 to linear sRGB (IEC 61966-2-1), and linear Display P3 to XYZ under D65. */
const XYZ_TO_SRGB: Rows = [
  [3.2409699419, -1.5373831776, -0.4986107603],
  [-0.9692436363, 1.8759675015, 0.0415550574],
  [0.0556300797, -0.2039769589, 1.0569715142],
];
const P3_TO_XYZ: Rows = [
  [0.4865709486, 0.2656676932, 0.1982172852],
  [0.2289745641, 0.6917385218, 0.0792869141],
  [0, 0.0451133819, 1.0439443689],
];
/** D50, which `lab()` counts from, to D65 by Bradford's cones. */
const D50_TO_D65: Rows = [
  [0.9554734528, -0.0230985368, 0.0632593087],
  [-0.0283697069, 1.0099954581, 0.0210415381],
  [0.0123140016, -0.0205076964, 1.3303659366],
];
const WHITE_D50: Three = [0.9642956764, 1, 0.8251046025];
const OKLAB_TO_CONES: Rows = [
  [1, 0.3963377774, 0.2158037573],
  [1, -0.1055613458, -0.0638541728],
  [1, -0.0894841775, -1.291485548],
];
const CONES_TO_SRGB: Rows = [
  [4.0767416621, -3.3077115913, 0.2309699292],
  [-1.2684380046, 2.6097574011, -0.3413193965],
  [-0.0041960863, -0.7034186147, 1.707614701],
];

/** The curve of sRGB and of Display P3. */
const encoded = (light: number): number => (light <= 0.0031308 ? 12.92 * light : 1.055 * light ** (1 / 2.4) - 0.055);
const linear = (value: number): number => (value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4);

const labToLinear = ([l, a, b]: Three): Three => {
  const f = (l + 16) / 116;
  const cube = (t: number): number => (t ** 3 > 216 / 24389 ? t ** 3 : (116 * t - 16) / (24389 / 27));
  const xyz = [cube(f + a / 500), cube(f), cube(f - b / 200)].map(
    (n, i) => n * (WHITE_D50[i] ?? 1),
  ) as unknown as Three;
  return by(XYZ_TO_SRGB, by(D50_TO_D65, xyz));
};
const oklabToLinear = (lab: Three): Three =>
  by(CONES_TO_SRGB, by(OKLAB_TO_CONES, lab).map((n) => n ** 3) as unknown as Three);

/** A number, or a percentage of `whole`. */
const number = (text: string, whole: number): number =>
  text.endsWith("%") ? (Number(text.slice(0, -1)) / 100) * whole : Number(text);
const polar = (l: number, chroma: number, degrees: number): Three => {
  const turn = (degrees * Math.PI) / 180;
  return [l, chroma * Math.cos(turn), chroma * Math.sin(turn)];
};

/**
 * The sRGB channels, 0 to 1, of a colour function's arguments; what lies beyond sRGB is cut off at its edge, as browsers do.
 * @param hue reads an angle as degrees
 * @returns undefined for a space that is not known here
 */
export const wideColour = (
  name: string,
  [first = "", second = "", third = "", fourth = ""]: readonly string[],
  hue: (text: string) => number,
): number[] | undefined => {
  const light = ((): Three | undefined => {
    switch (name.toLowerCase()) {
      case "lab":
        return labToLinear([number(first, 100), number(second, 125), number(third, 125)]);
      case "lch":
        return labToLinear(polar(number(first, 100), number(second, 150), hue(third)));
      case "oklab":
        return oklabToLinear([number(first, 1), number(second, 0.4), number(third, 0.4)]);
      case "oklch":
        return oklabToLinear(polar(number(first, 1), number(second, 0.4), hue(third)));
    }
    const rest = [second, third, fourth].map((one) => number(one, 1)) as unknown as Three;
    const space = first.toLowerCase();
    if (space === "srgb-linear") return rest;
    if (space === "srgb") return rest.map(linear) as unknown as Three;
    if (space === "display-p3") return by(XYZ_TO_SRGB, by(P3_TO_XYZ, rest.map(linear) as unknown as Three));
    return undefined;
  })();
  return light?.map((one) => Math.min(1, Math.max(0, encoded(one))));
};
