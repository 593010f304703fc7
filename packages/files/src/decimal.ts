const [DOT, ZERO] = [46, 48] as const;

/**
 * A number as text: dot, no exponent, no trailing zeros, never "-0". `toFixed` rounds the exact binary value, so the same
 * number gives the same text on every machine.
 *
 * @example decimal(1.5, 3) // "1.5"
 */
export const decimal = (value: number, places: number): string => {
  if (!Number.isFinite(value)) throw new Error(`a number for a file must be finite, not ${value}`);
  const text = value.toFixed(places);
  if (places === 0) return text === "-0" ? "0" : text;
  // Every point of every file goes through here: no pattern is searched.
  let end = text.length;
  while (text.charCodeAt(end - 1) === ZERO) end--;
  if (text.charCodeAt(end - 1) === DOT) end--;
  const trimmed = text.slice(0, end);
  return trimmed === "-0" ? "0" : trimmed;
};

/** Whole micrometres as millimetres with three decimals: exact, nothing is rounded away. */
export const millimetres = (um: number): string => decimal(um / 1000, 3);
