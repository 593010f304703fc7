import { quoted, inFigures } from "../numbers.ts";
import { error, type Words, warning } from "./sentence.ts";

/** What can be wrong with a shop beyond its form. */
export interface ShopFacts {
  "shop-empty": { readonly what: string };
  "press-unknown": { readonly stock: string; readonly press: string; readonly known: readonly string[] };
  "cutter-unknown": { readonly stock: string; readonly cutter: string; readonly known: readonly string[] };
  "profile-missing": { readonly press: string; readonly file: string };
  "shop-font-missing": { readonly file: string; readonly why?: string };
  "profile-unusable": { readonly press: string; readonly file: string; readonly why: string };
  "pens-shared": { readonly cutter: string; readonly pen: number; readonly operations: readonly string[] };
  "tool-unknown": { readonly cutter: string; readonly tool: string };
  "sheet-beyond-hpgl": {
    readonly stock: string;
    readonly sheet: readonly [number, number];
    readonly units: number;
    readonly cutter: string;
  };
  "sheet-beyond-table": {
    readonly stock: string;
    readonly sheet: readonly [number, number];
    readonly table: readonly [number, number];
    readonly cutter: string;
  };
  "sheet-without-room": { readonly stock: string; readonly sheet: readonly [number, number]; readonly machine: string };
}

export const SHOP_WORDS: Words<ShopFacts> = {
  "shop-empty": ({ what }) => error(`The shop has no ${what}.`, `Describe at least one under "${what}".`),
  "press-unknown": ({ stock, press, known }) =>
    error(
      `Stock ${quoted(stock)} is printed on press ${quoted(press)}, which the shop does not have.`,
      known.length > 0 ? `Known: ${known.join(", ")}; null for unprinted stock.` : "Describe the press under presses.",
    ),
  "cutter-unknown": ({ stock, cutter, known }) =>
    error(
      `Stock ${quoted(stock)} is cut on ${quoted(cutter)}, which the shop does not have.`,
      known.length > 0 ? `Known: ${known.join(", ")}.` : "Describe the cutter under cutters.",
    ),
  "shop-font-missing": ({ file, why }) =>
    error(
      why === undefined
        ? `The shop's font ${quoted(file)} is not beside shop.json.`
        : `The shop's font ${quoted(file)} cannot be used: ${why}.`,
      "Put the file there or correct the name; leave it out of fonts where no address needs it.",
    ),
  "profile-missing": ({ press, file }) =>
    error(
      `Press ${quoted(press)} names the profile ${quoted(file)}, which is not beside shop.json.`,
      "Put the file there or correct the name; FOGRA39 (coated) and FOGRA29 (uncoated) come with kitforme.",
    ),
  "profile-unusable": ({ press, file, why }) =>
    error(
      `The profile ${quoted(file)} cannot serve press ${quoted(press)}: ${why}.`,
      "Ask the press's maker or your paper's for an ICC output profile, or leave profile out for the bundled one.",
    ),
  "pens-shared": ({ cutter, pen, operations }) =>
    warning(
      `On cutter ${quoted(cutter)}, pen ${pen} is used for ${operations.join(" and ")}.`,
      "Give each operation its own pen, or the machine cannot tell them apart.",
    ),
  "tool-unknown": ({ cutter, tool }) =>
    warning(
      `Cutter ${quoted(cutter)} has a tool for ${quoted(tool)}, an operation that is not known.`,
      "Operations are cutting, partialCutting, creasing and perforating.",
    ),
  "sheet-beyond-hpgl": ({ stock, sheet, units, cutter }) =>
    warning(
      `A sheet of ${inFigures(sheet[0])} x ${inFigures(sheet[1])} mm of stock ${quoted(stock)} is ${units} HP-GL units of 0.025 mm long; many machines count to 32767 (819.175 mm) only.`,
      `Ask whether cutter ${quoted(cutter)} takes longer coordinates, or take "hpgl" out of its formats and cut from SVG or DXF.`,
    ),
  "sheet-beyond-table": ({ stock, sheet, table, cutter }) =>
    error(
      `A sheet of ${inFigures(sheet[0])} x ${inFigures(sheet[1])} mm of stock ${quoted(stock)} does not lie on the bed of cutter ${quoted(cutter)}, which holds ${inFigures(table[0])} x ${inFigures(table[1])} mm.`,
      "Use a smaller sheet or another cutter for this stock, or correct the cutter's table.",
    ),
  "sheet-without-room": ({ stock, sheet, machine }) =>
    error(
      `A sheet of ${inFigures(sheet[0])} x ${inFigures(sheet[1])} mm of stock ${quoted(stock)} has no room left inside the margins of ${quoted(machine)}.`,
      "Correct the sheet's size or the margins.",
    ),
};
