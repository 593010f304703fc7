import { toMm } from "@kitforme/geometry";
import type { CodeSlot, Piece, Press } from "@kitforme/kit";
import { hasErrors, type Finding } from "@kitforme/kit/findings";
import { createRequire } from "node:module";
import type Library from "bwip-js";
import { BLACK, type Ink, type Prepared, type SetText } from "../prepared.ts";
import { misplaced } from "../text/clear-of-lines.ts";
import { type Command, pathData } from "../text/outline.ts";
import { placeOfSlot, safeOf } from "./place-of-slot.ts";
import { say } from "./words.ts";

const require = createRequire(import.meta.url);
/** Loaded with the first code: a process that opens artwork draws none. (What `import` gives as `raw` is a symbology of that name.) */
const barcodes = (): typeof Library => require("bwip-js") as typeof Library;

/**
 * Module widths below which a code is warned of and below which it is refused. Common practice for codes that phones read
 * (QR 0.4 mm, Data Matrix 0.35 mm); 0.254 mm is the least of GS1's tables for Data Matrix on small items.
 */
const LEAST = { qr: 400, datamatrix: 350 } as const;
const REFUSED = 250;

interface Grid {
  readonly size: number;
  readonly isDark: (row: number, column: number) => boolean;
}

const gridOf = (code: CodeSlot["code"], text: string): Grid | { readonly why: string } => {
  try {
    // Bytes of UTF-8, which readers of today take a QR code without a word about its letters for.
    const bytes = Array.from(new TextEncoder().encode(text), (b) => String.fromCharCode(b)).join("");
    const options = { binarytext: true, ...(code === "qr" ? { eclevel: "M" } : {}) };
    const [symbol] = barcodes().raw(code === "qr" ? "qrcode" : "datamatrix", bytes, options as never);
    if (!symbol || !("pixs" in symbol) || symbol.pixx * symbol.pixx !== symbol.pixs.length)
      return { why: "it is too long" };
    const { pixs, pixx } = symbol;
    return { size: pixx, isDark: (row, column) => pixs[row * pixx + column] === 1 };
  } catch (error) {
    const message = error instanceof Error ? error.message : String(error);
    return {
      why: /long|capacity|maximum|length/i.test(message) ? "it is too long" : "it has characters that the code has not",
    };
  }
};

const rectangle = (x: number, y: number, width: number, height: number): Command[] => [
  { type: "M", values: [x, y] },
  { type: "L", values: [x + width, y] },
  { type: "L", values: [x + width, y + height] },
  { type: "L", values: [x, y + height] },
  { type: "Z", values: [] },
];

const paperOn = ({ colour }: Press): Ink =>
  colour === "cmyk"
    ? { space: "cmyk", c: 0, m: 0, y: 0, k: 0 }
    : colour === "rgb"
      ? { space: "rgb", r: 1, g: 1, b: 1 }
      : { space: "grey", g: 1 };

/**
 * Sets a code (ISO/IEC 18004 QR, ISO/IEC 16022 Data Matrix) of a text into its slot: in the middle of its box, modules a
 * whole number of the press's dots, black ink alone on blank paper as wide as the quiet zone.
 * @returns micrometres of the drawing, y down; no value with an error, nor for an empty text
 */
export const setCode = (slot: CodeSlot, text: string, piece: Piece, press: Press): Prepared<SetText> => {
  if (text.trim() === "") return { findings: [] };
  const where = placeOfSlot(piece, slot);
  const safe = safeOf(slot, press);
  const grid = gridOf(slot.code, text);
  if ("why" in grid) return { findings: [say("code-not-made", where, { text, code: slot.code, why: grid.why })] };
  const findings: Finding[] = [];
  const { box, quiet } = slot;
  const modules = grid.size + 2 * quiet;
  const dot = 25_400 / press.resolution;
  const room = Math.min(box.width, box.height);
  const module = Math.floor(room / modules / dot + 1e-6) * dot;
  const least = LEAST[slot.code];
  if (module < least - 1) {
    // What does not even have a dot a module is reported by the width it would have.
    const shown = module > 0 ? module : room / modules;
    const facts = { text, modules, module: toMm(Math.round(shown)), least: toMm(least), box: toMm(room) };
    findings.push(say("code-too-small", where, { ...facts, refused: module < REFUSED }));
  }
  const side = grid.size * module;
  const [x, y] = [box.x + (box.width - side) / 2, box.y + (box.height - side) / 2];
  const symbol = rectangle(x, y, side, side);
  const fault = misplaced(symbol, piece, safe);
  if (fault?.kind === "off") findings.push(say("code-off-piece", where, { text }));
  else if (fault) {
    const { operation, distance } = fault;
    findings.push(say("code-near-line", where, { text, operation, distance: toMm(distance), safe: toMm(safe) }));
  }
  if (hasErrors(findings)) return { findings };
  const blank = quiet * module;
  return {
    value: {
      slot: slot.slot,
      ...(slot.side ? { side: slot.side } : {}),
      text,
      size: 0,
      ink: BLACK,
      outlines: pathData(barsOf(slot.side === "back" ? mirrored(grid) : grid, x, y, module)),
      box: { x, y, width: side, height: side },
      ground: {
        ink: paperOn(press),
        outlines: pathData(rectangle(x - blank, y - blank, side + 2 * blank, side + 2 * blank)),
      },
    },
    findings,
  };
};

/** As it lies seen through the card, so that it is no mirror image from behind. */
const mirrored = ({ size, isDark }: Grid): Grid => ({
  size,
  isDark: (row, column) => isDark(row, size - 1 - column),
});

/** Dark modules of a row that touch are one bar: no seam shows between them. */
const barsOf = ({ size, isDark }: Grid, x: number, y: number, module: number): Command[] => {
  const bars: Command[] = [];
  for (let row = 0; row < size; row++)
    for (let from = 0; from < size; from++) {
      if (!isDark(row, from)) continue;
      let to = from;
      while (to < size && isDark(row, to)) to++;
      bars.push(...rectangle(x + from * module, y + row * module, (to - from) * module, module));
      from = to;
    }
  return bars;
};

/**
 * A code of a text as a shape, for papers: dark modules filled nonzero, y down from its upper left corner.
 * @param module width of a module in micrometres; the quiet zone (QR 4 modules, Data Matrix 1) is the caller's to leave
 * @returns path data and the length of a side in micrometres; nothing for a text that no such code can hold
 */
export const drawCode = (
  code: CodeSlot["code"],
  text: string,
  module: number,
): { readonly outlines: string; readonly side: number } | undefined => {
  const grid = gridOf(code, text);
  return "why" in grid ? undefined : { outlines: pathData(barsOf(grid, 0, 0, module)), side: grid.size * module };
};
