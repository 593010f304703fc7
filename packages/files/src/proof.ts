import { apply, IDENTITY, type Matrix, multiply, toMm } from "@kitforme/geometry";
import { OPERATIONS, type Operation } from "@kitforme/kit";
import { type PageRaster, setLine } from "@kitforme/prepress";
import type { Placed, Sheet, SheetLine } from "@kitforme/sheet";
import { decimal } from "./decimal.ts";
import { LEGEND, MARK_COLOUR } from "./legend.ts";
import { markShape } from "./mark.ts";
import { type DrawProof, drawProof, type ProofSheet } from "./proof/draw-proof.ts";
import { ProofLayers } from "./proof/proof-layers.ts";
import { spotOf } from "./spot.ts";

/** Pixels per inch, and the most pixels of a side: enough to read every number on screen, small enough to send. */
const RESOLUTION = 96;
const MOST_PIXELS = 4000;
/** Height of the legend under the sheet, micrometres. */
const STRIP = 26_000;

/** How a proof is drawn. */
export interface ProofOptions {
  /** The back is shown as it lies turned over, with the lines that are cut from the front. Left out, the front. */
  readonly side?: "front" | "back";
  /** Who draws it: left out, this thread; or `drawingThreads().draw`. The bytes are the same. */
  readonly draw?: DrawProof;
  /** What sheets of the job have in common; left out, nothing. */
  readonly layers?: ProofLayers;
  /** The page, where it has been drawn already at no less than 96 pixels per inch. */
  readonly seen?: PageRaster;
}

/**
 * The proof: what prints, as drawn from the print PDF, with every line of the cutter over it, the pieces' numbers and a
 * legend. Artwork that lies alike on several sheets of the job is drawn once, from a print PDF that holds nothing else. For eyes
 * only: nothing is ever cut or printed from it.
 *
 * @param print bytes of the sheet's print PDF; `null` for unprinted stock
 * @returns PNG bytes, about 96 pixels per inch, at most 4000 pixels high or wide
 */
export const writeProof = async (
  sheet: Sheet,
  print: Uint8Array | null,
  { side = "front", draw = drawProof, layers = new ProofLayers(), seen }: ProofOptions = {},
): Promise<Uint8Array> => {
  const scale = Math.min(RESOLUTION / 25_400, MOST_PIXELS / Math.max(sheet.width, sheet.height + STRIP));
  const pixelsOf = (um: number): number => Math.round(um * scale);
  const [width, height, strip] = [pixelsOf(sheet.width), pixelsOf(sheet.height), pixelsOf(STRIP)];
  const page = side === "back" ? 1 : 0;
  const shared = print && !seen ? await layers.of(sheet, page) : undefined;
  const printed: ProofSheet["printed"] = !print
    ? null
    : seen
      ? { kind: "seen", page: seen }
      : shared
        ? { kind: "shared", ...shared }
        : { kind: "page", page: { print, page } };
  const key = `${layers.keyOf(sheet)} ${side}`;
  const over = { key, from: layers.drawing(key, () => drawing(sheet, side)) };
  return draw({ width, height, strip, printed, over, legend: legend(sheet, side) });
};

/** Micrometres throughout, y down from the sheet's top-left. */
const drawing = (sheet: Sheet, side: "front" | "back"): string => {
  const over = side === "back" && sheet.back ? sheet.back.matrix : IDENTITY;
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${sheet.width} ${sheet.height}">`,
    `<g transform="matrix(1 0 0 -1 0 ${sheet.height})">`,
    ...(side === "back" ? [`<g transform="matrix(${over.join(" ")})">`] : []),
    ...OPERATIONS.map((operation) => strokes(operation, sheet.lines)),
    ...(side === "back" ? ["</g>"] : []),
    ...(side === "back" ? [] : sheet.marks).map((mark) => {
      const shape = markShape(mark);
      const around = `<circle cx="${mark.at.x}" cy="${mark.at.y}" r="${mark.size * 0.75}" fill="none" stroke="${MARK_COLOUR}" stroke-width="200"/>`;
      if (shape.kind === "circle")
        return `<circle cx="${shape.x}" cy="${shape.y}" r="${shape.radius}" fill="${MARK_COLOUR}"/>${around}`;
      return `<polygon points="${shape.points.map((p) => `${p.x},${p.y}`).join(" ")}" fill="${MARK_COLOUR}"/>${around}`;
    }),
    ...sheet.placed.flatMap((placed) => number(placed, over, side)),
    `</g>`,
    `<rect x="100" y="100" width="${sheet.width - 200}" height="${sheet.height - 200}" fill="none" stroke="#999999" stroke-width="200"/>`,
    `</svg>`,
  ].join("\n");
};

/** All lines of an operation as one path, on a pale edge that keeps them legible on dark artwork. */
const strokes = (operation: Operation, lines: readonly SheetLine[]): string => {
  const path = lines
    .filter((l) => l.operation === operation)
    .map(({ points, closed }) => `M${points.map((p) => `${p.x} ${p.y}`).join("L")}${closed ? "Z" : ""}`)
    .join("");
  return path === "" ? "" : stroke(operation, path);
};

const stroke = (operation: Operation, path: string): string => {
  const { colour, dash } = LEGEND[operation];
  const dashes = dash.length > 0 ? ` stroke-dasharray="${dash.map((mm) => mm * 1000).join(" ")}"` : "";
  return (
    `<path d="${path}" fill="none" stroke="#ffffff" stroke-opacity="0.75" stroke-width="900"/>` +
    `<path d="${path}" fill="none" stroke="${colour}" stroke-width="450"${dashes}/>`
  );
};

/** Rooms of the words on a side of a piece. Where it has a slot for them it is the slot's, so that all copies have their number at one place. */
const roomsOf = ({ prepared, texts }: Placed, side: "front" | "back") =>
  texts
    .filter((t) => (t.side ?? "front") === side)
    .map(({ slot, box }) => {
      const own = prepared.piece.slots.find((s) => s.slot === slot && (s.side ?? "front") === side);
      return own?.box ?? box;
    });

/** A piece's number on a pale disc, in every part. */
const number = (placed: Placed, over: Matrix, side: "front" | "back"): string[] =>
  placed.prepared.piece.parts.map((part) => {
    const { number, matrix } = placed;
    const { at, room } = spotOf(part, roomsOf(placed, side));
    const [x, y] = apply(multiply(over, matrix), at.x, at.y);
    const radius = Math.min(4000, Math.max(1500, room * 0.8));
    const digits = String(number);
    // Points such that the digits fill the disc: about half an em each.
    const size = (radius / 352.8) * (digits.length > 2 ? 0.75 : 1.05);
    const set = setLine(digits, { size, align: "centre", weight: "semibold", at: [x, y - size * 352.8 * 0.36] });
    return (
      `<circle cx="${Math.round(x)}" cy="${Math.round(y)}" r="${Math.round(radius)}" fill="#ffffff" fill-opacity="0.85" stroke="${MARK_COLOUR}" stroke-width="150"/>` +
      `<path d="${set.outlines}" fill="${MARK_COLOUR}"/>`
    );
  });

/** The strip under the sheet: what it is, how often, and what each line means. */
const legend = (sheet: Sheet, side: "front" | "back"): string => {
  const margin = 6000;
  const wide = sheet.width - 2 * margin;
  const head = `${sheet.job}   sheet ${sheet.sheet} of ${sheet.of}${sheet.back ? `   ${side}` : ""}   run ${sheet.run}`;
  const facts = [
    sheet.stock.title,
    `${decimal(toMm(sheet.width), 1)} x ${decimal(toMm(sheet.height), 1)} mm`,
    `${sheet.placed.length} pieces`,
    `yield ${decimal(sheet.yield * 100, 1)} %`,
    `cut ${decimal(sheet.cutLength / 1000, 2)} m`,
    ...(sheet.cutAs === sheet.sheet ? [] : [`cuts like sheet ${sheet.cutAs}`]),
  ].join("   ");
  const used = OPERATIONS.filter((o) => sheet.lines.some((l) => l.operation === o));
  const column = wide / Math.max(4, used.length);
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${sheet.width} ${STRIP}">`,
    words(head, 13, "semibold", margin, 8000, wide),
    words(facts, 10, "regular", margin, 14_500, wide),
    ...used.flatMap((operation, i) => {
      const x = margin + i * column;
      return [
        stroke(operation, `M${x} ${20_000}H${x + Math.min(16_000, column * 0.4)}`),
        words(LEGEND[operation].words, 9, "regular", x + Math.min(18_000, column * 0.45), 21_100, column * 0.5),
      ];
    }),
    `</svg>`,
  ].join("\n");
};

/** A line with its baseline at y, shrunk to the width there is. */
const words = (
  text: string,
  size: number,
  weight: "regular" | "semibold",
  x: number,
  y: number,
  width: number,
): string => {
  const full = setLine(text, { size, weight });
  const fit = Math.min(1, width / Math.max(1, full.width));
  return `<path transform="matrix(${decimal(fit, 4)} 0 0 ${decimal(-fit, 4)} ${decimal(x, 1)} ${decimal(y, 1)})" d="${full.outlines}" fill="${MARK_COLOUR}"/>`;
};
