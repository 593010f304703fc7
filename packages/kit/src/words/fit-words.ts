import { quoted, inFigures } from "../numbers.ts";
import { error, note, type Words, warning } from "./sentence.ts";

/** What can be wrong with a piece in a given shop. Lengths in millimetres. */
export interface FitFacts {
  "stock-unknown": { readonly stock: string; readonly known: readonly string[] };
  "piece-too-large": {
    readonly over: readonly [number, number];
    readonly sheet: readonly [number, number];
    readonly turn: number;
  };
  "piece-obstructed": { readonly stock: string };
  "grain-forbids-all-turns": {
    readonly grain: string;
    readonly turns: readonly number[];
    readonly needed: readonly number[];
  };
  "grain-of-stock-unknown": { readonly stock: string; readonly square: boolean };
  "opening-closes": {
    readonly openings: number;
    readonly bleed: number;
    readonly width: number;
    readonly height: number;
  };
  "paper-thin": { readonly width: number; readonly least: number };
  "opening-small": { readonly width: number; readonly height: number; readonly least: number };
  "corners-near": { readonly apart: number; readonly least: number };
  "crease-near": {
    readonly other: string;
    readonly apart: number;
    readonly least: number;
    readonly caliper: number;
  };
  "fill-lost": { readonly element: string; readonly paint: string; readonly blank: boolean };
  "tool-missing": { readonly operation: string; readonly cutter: string };
  "artwork-on-unprinted-stock": { readonly stock: string; readonly file: boolean };
  "slot-on-unprinted-stock": { readonly stock: string };
  "back-not-printed": { readonly stock: string; readonly press: string | null };
}

export const FIT_WORDS: Words<FitFacts> = {
  "stock-unknown": ({ stock, known }) =>
    error(
      `The shop has no stock ${quoted(stock)}.`,
      known.length > 0 ? `Stocks on hand: ${known.join(", ")}.` : "Describe the stock in shop.json.",
    ),
  "piece-too-large": ({ over, sheet, turn }) =>
    error(
      `The piece with its bleed does not fit inside the marks and margins of any sheet of its stock: on ${inFigures(sheet[0])} x ${inFigures(sheet[1])} mm, turned ${inFigures(turn)} degrees, ` +
        `it is ${inFigures(over[0])} mm too wide and ${inFigures(over[1])} mm too high.`,
      "Split the piece, allow another turn, or use a stock with larger sheets.",
    ),
  "piece-obstructed": ({ stock }) =>
    error(
      `On no sheet of stock ${quoted(stock)} is there a place for the piece with its bleed: marks, code or slug line are in its way in every turn.`,
      "Split the piece, allow other turns, or use a stock with larger sheets.",
    ),
  "grain-forbids-all-turns": ({ grain, turns, needed }) =>
    error(
      `The grain must run ${grain}, which needs a turn of ${needed.join(" or ")} degrees, but only ${turns.map(inFigures).join(", ")} are allowed.`,
      "Allow one of these turns, or leave grain out.",
    ),
  "grain-of-stock-unknown": ({ stock, square }) =>
    warning(
      `The piece asks for a grain direction, but stock ${quoted(stock)} ${square ? "is square: long and short do not tell its own" : "does not tell its own"}.`,
      square ? "Mind the grain when the sheets go in." : 'Write "grain" for the stock in shop.json.',
    ),
  "opening-closes": ({ openings, bleed, width, height }) =>
    note(
      `${openings === 1 ? "An opening" : `${openings} openings`} (the first ${inFigures(width)} x ${inFigures(height)} mm) ${openings === 1 ? "is" : "are"} nowhere wider than twice the bleed of ${inFigures(bleed)} mm: the bleed fills ${openings === 1 ? "it" : "them"}.`,
      "Nothing to do: the waste inside is printed all over.",
    ),
  "paper-thin": ({ width, least }) =>
    warning(
      `The paper between two cuts is only ${inFigures(width)} mm wide; this cutter keeps ${inFigures(least)} mm.`,
      "Widen it or let the two cuts meet: it will tear when it is cut or lifted off.",
    ),
  "opening-small": ({ width, height, least }) =>
    warning(
      `An opening is only ${inFigures(width)} x ${inFigures(height)} mm; the blade of this cutter turns in ${inFigures(least)} mm.`,
      "Make it larger, punch it by hand, or draw it as a slit.",
    ),
  "corners-near": ({ apart, least }) =>
    warning(
      `Two corners of a cutting line are ${inFigures(apart)} mm apart; the blade of this cutter needs ${inFigures(least)} mm between two turns.`,
      "Move them apart, round them, or make one corner of the two.",
    ),
  "crease-near": ({ other, apart, least, caliper }) =>
    warning(
      `A crease runs ${inFigures(apart)} mm beside a ${other} line; stock of ${inFigures(caliper)} mm needs ${inFigures(least)} mm between them.`,
      "Move them apart or use thinner stock: the crease's channel would reach the other line.",
    ),
  "fill-lost": ({ element, paint, blank }) =>
    (blank ? warning : note)(
      `${element} is a cutting line and is filled with ${quoted(paint)}; lines are never printed, so its fill is not${blank ? ", and the piece comes out blank" : ""}.`,
      blank
        ? 'Put a copy of the shape into the artwork, or write "artwork": null if the piece is to stay blank.'
        : "Put a copy of the shape into the artwork if its colour is to be printed.",
    ),
  "tool-missing": ({ operation, cutter }) =>
    error(
      `The piece has ${operation} lines, but cutter ${quoted(cutter)} has no tool for ${operation}.`,
      "Add the tool to the cutter in shop.json, or use a stock for another cutter.",
    ),
  "artwork-on-unprinted-stock": ({ stock, file }) =>
    (file ? error : warning)(
      file
        ? `The piece has an artwork file, but stock ${quoted(stock)} is not printed.`
        : `The piece has artwork, but stock ${quoted(stock)} is not printed: the artwork is left out.`,
      'Write "artwork": null, or use a printed stock.',
    ),
  "back-not-printed": ({ stock, press }) =>
    error(
      press === null
        ? `The piece has a back, but stock ${quoted(stock)} is not printed.`
        : `The piece has a back, but press ${quoted(press)} of stock ${quoted(stock)} prints one side.`,
      press === null
        ? "Take the back out, or use a stock whose press prints both sides."
        : 'Write "sides": 2 for the press in shop.json if it prints both sides, use another stock, or take the back out.',
    ),
  "slot-on-unprinted-stock": ({ stock }) =>
    error(
      `The piece has slots for text, but stock ${quoted(stock)} is not printed.`,
      "Take the slots out, or use a printed stock.",
    ),
};
