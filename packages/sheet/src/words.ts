import { error, sayer, inFigures, warning, type Words } from "@kitforme/kit";

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

/** The middle of a mark as planned. */
interface AtMark {
  readonly x: number;
  readonly y: number;
}

/** What can be wrong with a camera's reading of a printed sheet. Millimetres and degrees. */
export interface ReadingFacts {
  "fit-no-marks": { readonly marks: number };
  "fit-count": { readonly seen: number; readonly marks: number };
  "fit-half-turned": { readonly turn: number };
  "fit-quarter-turned": { readonly turn: number };
  "fit-askew": { readonly turn: number };
  "fit-mirrored": { readonly turn: number };
  "fit-swapped": { readonly turn: number };
  "fit-scale": { readonly percent: number };
  "fit-implausible": { readonly rms: number | null };
  "fit-mark-astray": { readonly at: AtMark; readonly off: number };
  "fit-loose": { readonly worst: number; readonly model: string };
  "fit-bent": { readonly at: AtMark; readonly off: number };
}

const READING_WORDS: Words<ReadingFacts> = {
  "fit-no-marks": ({ marks }) =>
    error(
      `The sheet has ${marks} marks, and a fit needs at least 4.`,
      "Sheets of unprinted stock have no marks: lay them against the cutter's stops.",
    ),
  "fit-count": ({ seen, marks }) =>
    error(
      `The reading has ${seen} marks, the sheet ${marks}.`,
      "Read every mark of the sheet once; clean the sheet and the camera's glass if one is not found.",
    ),
  "fit-half-turned": () =>
    error("The sheet lies turned by half.", "Turn it round and read the marks again; never cut it as it lies."),
  "fit-quarter-turned": ({ turn }) =>
    error(
      `The sheet lies turned by a quarter (${inFigures(Math.round(turn))} degrees).`,
      "Lay it as it was printed, or set the cutter's axes if the machine counts the other way.",
    ),
  "fit-askew": ({ turn }) =>
    error(
      `The sheet lies ${inFigures(Math.round(turn))} degrees askew.`,
      "Straighten it to within 10 degrees and read again.",
    ),
  "fit-mirrored": () =>
    error(
      "The marks are seen mirrored: the sheet lies face down, or the camera counts one axis backwards.",
      "Turn the sheet over, or give the reading in a frame whose axes run right and up.",
    ),
  "fit-swapped": () =>
    error("X and Y of the reading are exchanged.", "Give each place as [x, y], x running right and y up."),
  "fit-scale": ({ percent }) =>
    error(
      `The marks are seen ${inFigures(Math.abs(Number(percent.toFixed(1))))} % ${percent > 0 ? "farther apart" : "nearer together"} than they were printed.`,
      "Check that the camera gives millimetres, and that the sheet was printed at 100 %, not fitted to the paper.",
    ),
  "fit-implausible": ({ rms }) =>
    error(
      rms === null
        ? "The places read are not the marks of this sheet."
        : `The places read do not fit the marks of this sheet: ${inFigures(Number(rms.toFixed(2)))} mm remain.`,
      "Check that sheet and job folder belong together (the code beside the marks says so), and read again.",
    ),
  "fit-mark-astray": ({ at, off }) =>
    error(
      `The ${markAt(at)} is seen ${inFigures(Number(off.toFixed(2)))} mm off the line of its neighbours: no paper is bent so sharply.`,
      "Something else was taken for the mark, or it is soiled: clean it and the camera's glass, and read again.",
    ),
  "fit-bent": ({ at, off }) =>
    warning(
      `The ${markAt(at)} is seen ${inFigures(Number(off.toFixed(2)))} mm off the line of its neighbours, and the cut follows it.`,
      "Read that mark again; if it stays, the paper is bent there.",
    ),
  "fit-loose": ({ worst, model }) =>
    warning(
      `After the fit (${model}) a mark still lies ${inFigures(Number(worst.toFixed(2)))} mm off.`,
      "Read the marks again; if it stays, the paper is distorted: more marks along the long edges (marks.along of the cutter) let the fit follow it.",
    ),
};

const markAt = ({ x, y }: AtMark): string => `mark at (${inFigures(x)}, ${inFigures(y)}) of the sheet`;

const SHEET_WORDS: Words<SheetFacts> = {
  "sheet-too-small": ({ sheet, left, needed, press, cutter }) =>
    error(
      `The sheet of ${size(sheet)} mm leaves ${size(left)} mm between its marks inside the margins of press ${press} and cutter ${cutter}; the marks and the code between them need ${size(needed)} mm.`,
      "Use a larger sheet, smaller marks, or narrower margins if the machines allow them.",
    ),
};

const size = ([width, height]: readonly [number, number]): string => `${inFigures(width)} x ${inFigures(height)}`;

export const say = sayer({ ...SHEET_WORDS, ...READING_WORDS });
