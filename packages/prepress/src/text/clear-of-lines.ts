import type { Rect, Um } from "@kitforme/geometry";
import { fromPoints, unit } from "@kitforme/geometry";
import type { Operation, Piece, TextSlot } from "@kitforme/kit";
import type { Needs } from "./fit.ts";
import { nextSmaller, standIn } from "./fit.ts";
import { nearestLine, onPaper } from "./near-line.ts";
import type { Command } from "./outline.ts";
import { boundsOf, ringsOf } from "./outline.ts";
import type { ShapedLine } from "./shape.ts";
import { placeLine } from "./shape.ts";

/** What is wrong with the place of ink on a piece. */
export type Misplaced =
  | { readonly kind: "near"; readonly operation: Operation; readonly distance: Um }
  | { readonly kind: "off" };

/** A text at its place and size on the piece. Micrometres of the drawing, y down; size in points. */
export interface PlacedText {
  readonly size: number;
  readonly commands: readonly Command[];
  /** Bounds of the ink, its outline included. */
  readonly box: Rect;
  /** What is wrong with the place even at this size. */
  readonly fault: Misplaced | null;
}

/** Lines about the middle of a box, y up, to the drawing: turned counter-clockwise, y down; what is read from behind, mirrored. */
const toDrawing = (commands: readonly Command[], { box, turn = 0, side }: TextSlot): Command[] => {
  const [cos, sin] = unit(turn);
  const over = side === "back" ? -1 : 1;
  const [cx, cy] = [box.x + box.width / 2, box.y + box.height / 2];
  return commands.map(({ type, values }) => {
    const placed: number[] = [];
    for (let i = 0; i < values.length; i += 2) {
      const [x, y] = [values[i] as number, values[i + 1] as number];
      placed.push(cx + over * (x * cos - y * sin), cy - x * sin - y * cos);
    }
    return { type, values: placed };
  });
};

const inkBox = (commands: readonly Command[], rim: Um, { x, y }: Rect): Rect => {
  const ink = boundsOf(commands);
  if (!ink) return { x, y, width: 0, height: 0 };
  return {
    x: ink.left - rim,
    y: ink.bottom - rim,
    width: ink.right - ink.left + 2 * rim,
    height: ink.top - ink.bottom + 2 * rim,
  };
};

/** Whether ink lies on the piece and off its lines. Ink that a line crosses is cut, however near it may come. */
export const misplaced = (commands: readonly Command[], piece: Piece, safe: Um, rim: Um = 0): Misplaced | null => {
  const rings = ringsOf(commands);
  const near = nearestLine(rings, piece.lines, Math.max(1, safe + rim));
  const distance = Math.max(0, (near?.distance ?? 0) - rim);
  // Ink that no line crosses lies on one side of each, so the first point of a ring speaks for the ring.
  if (!(near && distance === 0) && rings.some((ring) => !onPaper(ring, piece.parts))) return { kind: "off" };
  return near && { kind: "near", operation: near.line.operation, distance };
};

/** Sets the lines at `fitting` points and goes on down the sizes while their ink is nearer to a line than the slot allows. */
export const clearOfLines = (
  lines: readonly ShapedLine[],
  needs: Needs,
  slot: TextSlot,
  piece: Piece,
  fitting: number,
): PlacedText => {
  for (let size = fitting; ; ) {
    const em = fromPoints(size);
    const { origins } = standIn(needs, slot.box, slot, size);
    const local = lines.flatMap((line, i) => placeLine(line, em, origins[i]?.[0] ?? 0, origins[i]?.[1] ?? 0, 1));
    const commands = toDrawing(local, slot);
    const fault = misplaced(commands, piece, slot.safe, needs.rim);
    const smaller = fault?.kind === "near" ? nextSmaller(size, slot) : null;
    if (smaller === null) return { size, commands, box: inkBox(commands, needs.rim, slot.box), fault };
    size = smaller;
  }
};
