import type { Rect } from "@kitforme/geometry";
import { fromPoints } from "@kitforme/geometry";
import type { Operation, Piece, Slot } from "@kitforme/kit";
import type { Needs } from "./fit.ts";
import { nextSmaller, originOf } from "./fit.ts";
import { nearestLine, onPaper } from "./near-line.ts";
import type { Command } from "./outline.ts";
import { ringsOf } from "./outline.ts";
import type { ShapedLine } from "./shape.ts";
import { placeLine } from "./shape.ts";

/** A line of text at its place and size on the piece. Micrometres of the drawing, y down; size in points. */
export interface PlacedText {
  readonly size: number;
  readonly commands: readonly Command[];
  readonly box: Rect;
  /** What is wrong with the place even at this size. */
  readonly fault:
    | { readonly kind: "near"; readonly operation: Operation; readonly distance: number }
    | { readonly kind: "off" }
    | null;
}

const inkBox = ({ ink }: ShapedLine, em: number, x: number, y: number): Rect =>
  ink
    ? {
        x: x + ink.left * em,
        y: y - ink.top * em,
        width: (ink.right - ink.left) * em,
        height: (ink.top - ink.bottom) * em,
      }
    : { x, y, width: 0, height: 0 };

/** Sets the line at `fitting` points and goes on down the sizes while its ink is nearer to a line than the slot allows. */
export const clearOfLines = (line: ShapedLine, needs: Needs, slot: Slot, piece: Piece, fitting: number): PlacedText => {
  for (let size = fitting; ; ) {
    const em = fromPoints(size);
    const [x, y] = originOf(needs, slot.box, slot.align, size);
    const commands = placeLine(line, em, x, y, -1);
    const box = inkBox(line, em, x, y);
    const rings = ringsOf(commands);
    const near = nearestLine(rings, piece.lines, slot.safe);
    const smaller = near ? nextSmaller(size, slot) : null;
    if (smaller !== null) {
      size = smaller;
      continue;
    }
    // Ink that no line crosses lies on one side of each, so the first point of a ring speaks for the ring.
    const crossed = near?.distance === 0;
    const off = !crossed && rings.some((ring) => !onPaper(ring, piece.parts));
    if (off) return { size, commands, box, fault: { kind: "off" } };
    const fault = near && ({ kind: "near", operation: near.line.operation, distance: near.distance } as const);
    return { size, commands, box, fault };
  }
};
