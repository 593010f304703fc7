import type { Operation } from "@kitforme/kit";

/** How an operation is drawn on paper and screen. Print and cut data never depend on it: machines go by names, layers and pens. */
export interface Stroke {
  /** `#rrggbb`. Our own four: dark enough for white card, apart for the colour blind by dash as well as by hue. */
  readonly colour: string;
  /** Lengths on and off in millimetres of the sheet; empty: solid. */
  readonly dash: readonly number[];
  readonly words: string;
}

/** How each operation is drawn and called wherever people look at it: colour, dashes in mm, word. */
export const LEGEND: Readonly<Record<Operation, Stroke>> = {
  creasing: { colour: "#1f7a8c", dash: [4, 1.6], words: "crease" },
  perforating: { colour: "#5b7f2b", dash: [0.7, 1.1], words: "perforation" },
  partialCutting: { colour: "#7a5ea8", dash: [5, 1.2, 1, 1.2], words: "kiss cut" },
  cutting: { colour: "#b5482a", dash: [], words: "cut" },
};

/** Registration marks, numbers and frames. */
export const MARK_COLOUR = "#333333";
