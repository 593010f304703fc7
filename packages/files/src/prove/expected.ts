import { createHash } from "node:crypto";
import { containsRect, inset, type Matrix, multiply, type Rect } from "@kitforme/geometry";
import type { SetText } from "@kitforme/prepress";
import type { Placed, Sheet, SheetInk } from "@kitforme/sheet";
import { boundsOfData, rectAt } from "./rects.ts";

/** What lies so near to words is left to the proof of the words, micrometres. */
const AROUND_WORDS = 400;

/** How a placement lies on a page. */
export const onPage = (sheet: Pick<Sheet, "back">, { matrix }: Placed, side: "front" | "back"): Matrix =>
  side === "back" && sheet.back ? multiply(sheet.back.matrix, matrix) : matrix;

/** What prints on a side of a placement besides its artwork. */
export const sideOf = <T extends { readonly side?: "back" }>(
  all: readonly T[] = [],
  side: "front" | "back",
): readonly T[] => all.filter((one) => (one.side ?? "front") === side);

/** The room of a text, drawing space: in it nothing but the text is looked for. */
export const roomOfText = (text: SetText): Rect => {
  const { outlines, ground, rim } = text;
  const room =
    rooms.get(text) ?? inset(boundsOfData(`${outlines} ${ground?.outlines ?? ""}`), -AROUND_WORDS - (rim?.width ?? 0));
  rooms.set(text, room);
  return room;
};
const rooms = new WeakMap<SetText, Rect>();

/**
 * Where words may stand on a piece, drawing space, whatever they are on this sheet: in its slots, and such as stand outside of
 * them. What is measured beside these is the same on sheets that differ in their words alone.
 */
export const roomsOfWords = ({ prepared, texts }: Placed, side: "front" | "back"): Rect[] => {
  const slots = sideOf(prepared.piece.slots, side).map(({ box }) => inset(box, -2 * AROUND_WORDS));
  const rooms = sideOf(texts, side).map(roomOfText);
  return [...slots, ...rooms.filter((room) => !slots.some((slot) => containsRect(slot, room)))];
};

const shapes = new WeakMap<SheetInk, Rect>();

/** The room of a code, a slug or what the waste carries, micrometres of the page. */
export const roomOfInk = (ink: SheetInk): Rect => {
  const room = shapes.get(ink) ?? boundsOfData(ink.outlines);
  shapes.set(ink, room);
  return room;
};

/** Words, codes and what the waste carries, by all that says how they look, and where on the page. Micrometres. */
export const wordsOf = (sheet: Sheet, side: "front" | "back"): Map<string, Rect> => {
  const all = new Map<string, Rect>();
  const note = (parts: unknown, rect: Rect): void =>
    void all.set(createHash("sha256").update(JSON.stringify(parts)).digest("base64"), rect);
  for (const placed of sheet.placed)
    for (const text of sideOf(placed.texts, side)) {
      const { outlines, ink, rim, ground } = text;
      note([placed.number, outlines, ink, rim, ground], rectAt(onPage(sheet, placed, side), roomOfText(text)));
    }
  for (const shape of side === "back" ? (sheet.back?.inks ?? []) : sheet.inks)
    note([shape.outlines, shape.ink], roomOfInk(shape));
  return all;
};
