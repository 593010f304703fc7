// Lengths in drawings: CSS Values, absolute units at 96 px to the inch (SVG 1.1, 7.10 leaves it open; CSS 2.1 fixed it).

/** Pixels in one of the unit. */
export const PX_PER: Readonly<Record<string, number>> = {
  px: 1,
  in: 96,
  mm: 96 / 25.4,
  cm: 96 / 2.54,
  q: 96 / 101.6,
  pt: 96 / 72,
  pc: 16,
};

export const MM_PER_PX = 25.4 / 96;

/** Millimetres in one of the unit, not by way of pixels: 120 mm are 120, not 120.00000000000001. */
export const MM_PER: Readonly<Record<string, number>> = {
  "": MM_PER_PX,
  px: MM_PER_PX,
  in: 25.4,
  mm: 1,
  cm: 10,
  q: 0.25,
  pt: 25.4 / 72,
  pc: 25.4 / 6,
};

const LENGTH = /^\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([A-Za-z]+|%)?\s*$/;

/** Against what relative lengths are measured: the nearest viewport in user units, the type size in user units. */
export interface Measure {
  readonly width: number;
  readonly height: number;
  readonly fontSize: number;
}

/** A length as written: its number and its unit in lower case, `""` for none. Undefined when it is no length. */
export const splitLength = (text: string): { readonly number: number; readonly unit: string } | undefined => {
  const match = LENGTH.exec(text);
  if (!match) return undefined;
  const number = Number(match[1]);
  return Number.isFinite(number) ? { number, unit: (match[2] ?? "").toLowerCase() } : undefined;
};

/**
 * A length in user units. `axis` says what a percentage is taken of: the viewport's width, height, or its diagonal over the
 * root of two (SVG 1.1, 7.10).
 */
export const toUserUnits = (
  text: string,
  axis: "x" | "y" | "both",
  measure: Measure,
): { readonly value: number } | { readonly fault: "unit" | "number" } => {
  const length = splitLength(text);
  if (!length) return { fault: "number" };
  const { number, unit } = length;
  if (unit === "") return { value: number };
  if (unit === "em") return { value: number * measure.fontSize };
  if (unit === "%") {
    const of =
      axis === "x"
        ? measure.width
        : axis === "y"
          ? measure.height
          : Math.hypot(measure.width, measure.height) / Math.SQRT2;
    return { value: (number / 100) * of };
  }
  const px = Object.hasOwn(PX_PER, unit) ? PX_PER[unit] : undefined;
  return px === undefined ? { fault: "unit" } : { value: number * px };
};
