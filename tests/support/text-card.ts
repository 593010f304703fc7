// A plain card, and a slot for a name on it: what tests of texts begin with.
import { contourOf, mm } from "@kitforme/geometry";
import type { Piece, TextSlot } from "@kitforme/kit";

/** A rectangle of card with nothing on it; millimetres. `lines` beside its outline. */
export const textCard = (width: number, height: number, lines: Piece["lines"] = []): Piece => {
  const ring = contourOf<"drawing">({ x: mm(0), y: mm(0), width: mm(width), height: mm(height) });
  return {
    kit: "harbour",
    piece: "wall",
    perKit: 1,
    stock: "card",
    size: { width: mm(width), height: mm(height) },
    parts: [{ outer: ring, openings: [] }],
    lines: [{ operation: "cutting", closed: true, points: ring }, ...lines],
    artwork: null,
    turns: [0],
    spread: "nearest",
    slots: [],
  };
};

/** A slot 10 mm from the card's upper left corner, as large as said (millimetres), in a font. */
export const nameSlot = (width: number, height: number, bytes: Uint8Array): TextSlot => ({
  kind: "text",
  slot: "boat",
  box: { x: mm(10), y: mm(10), width: mm(width), height: mm(height) },
  fonts: [{ file: "fonts/name.ttf", bytes }],
  size: 24,
  leastSize: 8,
  align: "left",
  colour: "#000000",
  safe: 0,
});
