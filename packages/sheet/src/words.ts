import { error, sayer, told, type Words } from "@kitforme/kit";

/** What can be wrong with the sheets of a stock. Lengths in millimetres, width first. */
export interface SheetFacts {
  "sheet-too-small": {
    readonly sheet: readonly [number, number];
    readonly left: readonly [number, number];
    readonly needed: readonly [number, number];
    readonly press: string;
    readonly cutter: string;
  };
}

const SHEET_WORDS: Words<SheetFacts> = {
  "sheet-too-small": ({ sheet, left, needed, press, cutter }) =>
    error(
      `The sheet of ${size(sheet)} mm leaves ${size(left)} mm between its marks inside the margins of press ${press} and cutter ${cutter}; the marks need ${size(needed)} mm.`,
      "Use a larger sheet, smaller marks, or narrower margins if the machines allow them.",
    ),
};

const size = ([width, height]: readonly [number, number]): string => `${told(width)} x ${told(height)}`;

export const say = sayer(SHEET_WORDS);
