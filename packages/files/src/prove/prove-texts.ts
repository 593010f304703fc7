import { apply, inverse, multiply, type Point, type Rect } from "@kitforme/geometry";
import type { Press } from "@kitforme/kit";
import type { SetText } from "@kitforme/prepress";
import type { Sheet } from "@kitforme/sheet";
import { ringsOfPath } from "../rings-of-path.ts";
import type { ProofFault } from "./fault.ts";
import { inked, SHARE } from "./inked.ts";
import { indexed, type LineIndex, type Way } from "./lines.ts";
import { POSES, type Pose, type PoseKind } from "./poses.ts";
import { onPage, roomOfText } from "./expected.ts";
import { rectAt } from "./rects.ts";
import { type References, referenceOf } from "./reference.ts";
import { pixelsOf, type Seen } from "./seen.ts";
import { textRoom } from "./text-beyond.ts";

/** How much nearer to a cut than its `safe` a text may be found: what reading both back is off by, micrometres. */
const SLACK = 100;

/**
 * Every text in its ink at its place, and none touched by a cut of the written file.
 * @param parts of the page, that hold every text whose ink is to be looked for; others are known to be there
 */
export const proveTexts = async (
  sheet: Sheet,
  press: Press,
  side: "front" | "back",
  parts: readonly Seen[],
  cuts: readonly Way[],
  references: Pick<References, "of" | "colourOf">,
  { poses, most }: { readonly poses: readonly Pose[]; readonly most: number },
): Promise<{
  readonly faults: ProofFault[];
  readonly room: { readonly by: number; readonly under: Readonly<Record<PoseKind, number>> };
}> => {
  const faults: ProofFault[] = [];
  let by = Infinity;
  const under: Record<PoseKind, number> = { shift: Infinity, turn: Infinity, stretch: Infinity };
  const lines = indexes.get(cuts) ?? indexed(cuts);
  indexes.set(cuts, lines);
  for (const placed of sheet.placed) {
    const texts = placed.texts.filter((text) => (text.side ?? "front") === side);
    if (texts.length === 0) continue;
    const reference = await referenceOf(placed, press, side, references);
    const shareOf = async (seen: Seen, rings: readonly Point[][], { ink, ground }: SetText): Promise<number> => {
      const matrix = multiply(pixelsOf(seen), onPage(sheet, placed, side));
      const toReference = multiply(reference.toPixels, inverse(matrix));
      const below = ground && (await references.colourOf(ground.ink, press));
      return inked(seen, rings, matrix, ink, press, references, (column, row) => {
        if (below) return below;
        const [u, v] = apply(toReference, column + 0.5, row + 0.5).map(Math.floor) as [number, number];
        const i = 3 * (v * reference.width + u);
        return [reference.colour[i] ?? 255, reference.colour[i + 1] ?? 255, reference.colour[i + 2] ?? 255];
      });
    };
    for (const one of texts) {
      const { slot, text, outlines } = one;
      const rings = ringsOfPath(outlines);
      const tell = (check: "text" | "paper", what: string, at?: Point): void => {
        const { kit, piece } = placed.prepared.piece;
        const told = `the text ${JSON.stringify(text)} of place ${placed.number} (${kit}, ${piece}) ${what}`;
        faults.push({ check, what: told, ...(at ? { at } : {}) });
      };
      const seen = parts.find((part) => holds(part, rectAt(onPage(sheet, placed, side), roomOfText(one))));
      const share = seen ? await shareOf(seen, rings, one) : 1;
      const place = rings[0]?.[0];
      const [x = 0, y = 0] = place ? apply(placed.matrix, place.x, place.y) : [];
      if (share < SHARE) tell("text", "is not found in the print", { x, y });
      const rule = placed.prepared.piece.slots.find((s) => s.slot === slot && (s.side ?? "front") === side);
      const keep = Math.max(SLACK / 2, (rule?.safe ?? 0) - SLACK);
      const there = rings.map((ring) =>
        ring.map((p): Point<"sheet"> => {
          const [px, py] = apply(placed.matrix, p.x, p.y);
          return { x: px, y: py };
        }),
      );
      const room = textRoom(there, lines, poses);
      by = Math.min(by, room.by);
      for (const kind of POSES) under[kind] = Math.min(under[kind], room.under[kind]);
      if (room.by < keep) tell("text", "lies nearer to a line of the cut file than it may", room.at);
      // A text that may lie nearer to a line than both machines may be off has been said by its slot.
      const promised = Math.min(rule?.safe ?? 0, most) - SLACK;
      const pose = POSES.find((kind) => room.under[kind] < promised);
      if (pose) tell("text", `would be cut by a ${pose} of ${(room.under[pose] / 1000).toFixed(1)} mm`, room.at);
    }
  }
  return { faults, room: { by, under } };
};

/** Sheets of one cut geometry have the same lines. */
const indexes = new WeakMap<readonly Way[], LineIndex>();

/** Whether a part shows a rectangle of the page whole, or as much of it as lies on the page. */
const holds = (part: Seen, rect: Rect): boolean => {
  const { x, y, width, height } = rectAt(pixelsOf(part), rect);
  const [left, top] = [-part.left, -part.top];
  const [right, bottom] = [left + part.pageWidth * part.scale[0], top + part.pageHeight * part.scale[1]];
  return (
    Math.max(x, left) >= -1 &&
    Math.max(y, top) >= -1 &&
    Math.min(x + width, right) <= part.width + 1 &&
    Math.min(y + height, bottom) <= part.height + 1
  );
};
