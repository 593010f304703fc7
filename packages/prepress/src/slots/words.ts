import { error, quoted, sayer, inFigures, warning, type Words } from "@kitforme/kit/findings";

/** What can be wrong with codes and with pictures of buyers. Lengths in millimetres. */
export interface SlotFacts {
  "code-not-made": { readonly text: string; readonly code: string; readonly why: string };
  "code-too-small": {
    readonly text: string;
    readonly modules: number;
    readonly module: number;
    readonly least: number;
    readonly box: number;
    readonly refused: boolean;
  };
  "code-near-line": {
    readonly text: string;
    readonly operation: string;
    readonly distance: number;
    readonly safe: number;
  };
  "code-off-piece": { readonly text: string };
  "picture-unreadable": { readonly file: string; readonly why: string };
  "picture-coarse": {
    readonly file: string;
    readonly pixels: readonly [number, number];
    readonly size: readonly [number, number];
    readonly ppi: number;
    readonly least: number;
  };
  "picture-off-piece": { readonly file: string };
}

const CALLED: Readonly<Record<string, string>> = { qr: "QR code", datamatrix: "Data Matrix" };

const SLOT_WORDS: Words<SlotFacts> = {
  "code-not-made": ({ text, code, why }) =>
    error(
      `The text ${quoted(text)} cannot be made into a ${CALLED[code] ?? code}: ${why}.`,
      "Shorten it, or use only characters that the code can hold.",
    ),
  "code-too-small": ({ text, modules, module, least, box, refused }) =>
    (refused ? error : warning)(
      `The code of ${quoted(text)} has ${modules} modules a side with its quiet zone; in a box of ${inFigures(box)} mm each is ${inFigures(module)} mm.`,
      `Phones read modules from ${inFigures(least)} mm: make the box at least ${inFigures(Math.ceil(modules * least * 10) / 10)} mm, or shorten the text.`,
    ),
  "code-near-line": ({ text, operation, distance, safe }) =>
    error(
      `The code of ${quoted(text)} ${distance === 0 ? "is crossed by" : `comes within ${inFigures(distance)} mm of`} a ${operation} line; it must stay ${inFigures(safe)} mm away.`,
      "Move the slot's box, or make it smaller.",
    ),
  "code-off-piece": ({ text }) =>
    error(`The code of ${quoted(text)} does not lie on the piece.`, "Move the slot's box onto the piece."),
  "picture-unreadable": ({ file, why }) =>
    error(`The picture ${quoted(file)} cannot be read: ${why}.`, "Ask the buyer for it again, as PNG or JPEG."),
  "picture-coarse": ({ file, pixels, size, ppi, least }) =>
    error(
      `The picture ${quoted(file)} has ${pixels.join(" x ")} pixels for ${size.map(inFigures).join(" x ")} mm: ${Math.floor(ppi)} pixels per inch; at least ${inFigures(least)} are wanted.`,
      "Ask the buyer for the picture as the camera took it, crop less of it, or lower the slot's least.",
    ),
  "picture-off-piece": ({ file }) =>
    error(
      `No part of the picture ${quoted(file)} would lie on the piece.`,
      "Move the slot's box or its shape onto the piece.",
    ),
};

export const say = sayer(SLOT_WORDS);
