import type { Finding, Level } from "@kitforme/kit";

/** A finding and the number it has in pictures and lists. */
export interface Flaw {
  readonly number: number;
  readonly finding: Finding;
}

/** Our own three: dark enough for white figures (4.5 to 1 and more), apart for the colour blind by the word beside them. */
export const LEVEL_COLOURS: Readonly<Record<Level, string>> = {
  error: "#a8261d",
  warning: "#8a5a00",
  note: "#2a5a86",
};
