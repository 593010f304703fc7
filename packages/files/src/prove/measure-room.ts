import { apply, inverse } from "@kitforme/geometry";
import type { Press } from "@kitforme/kit";
import type { Sheet } from "@kitforme/sheet";
import { onPage } from "./expected.ts";
import type { ProofFault } from "./fault.ts";
import type { Room } from "./measured.ts";
import { paperBeyond, paperUnder } from "./paper-beyond.ts";
import { POSES, posesOf, type PoseKind } from "./poses.ts";
import { type References, referenceOf } from "./reference.ts";

/** How exactly a bleed is measured in the picture: a pixel, micrometres. */
const PIXEL = 200;

/** Measures every bleed of a page in what the pieces look like, and in every pose. @param most what both machines may be off, micrometres */
export const measureRoom = async (
  sheet: Sheet,
  press: Press,
  side: "front" | "back",
  references: Pick<References, "of">,
  most: number,
): Promise<Room> => {
  const faults: ProofFault[] = [];
  const all: Record<PoseKind, number> = { shift: Infinity, turn: Infinity, stretch: Infinity };
  let paper = Infinity;
  const poses = posesOf(sheet);
  for (const placed of sheet.placed) {
    const face = side === "back" ? placed.prepared.back : placed.prepared;
    if (!face) continue;
    const { beyond } = await referenceOf(placed, press, side, references);
    const { by, at } = paperBeyond(beyond);
    paper = Math.min(paper, by);
    const [a, b, c, d, e, f] = placed.matrix;
    const flat = inverse([a, b, c, d, 0, 0]);
    const here: Record<PoseKind, number> = { shift: Infinity, turn: Infinity, stretch: Infinity };
    for (const { kind, off } of poses) {
      const under = paperUnder(beyond, ({ x, y }) => {
        const [u, v] = off({ x: a * x + c * y + e, y: b * x + d * y + f });
        return [flat[0] * u + flat[2] * v, flat[1] * u + flat[3] * v];
      });
      here[kind] = Math.min(here[kind], under.by);
      all[kind] = Math.min(all[kind], under.by);
    }
    // Less than asked for has been said in the tolerance statement; less than was found there is our fault.
    const promised = Math.min(face.bleed?.least ?? 0, most);
    if (by >= promised - PIXEL) continue;
    const { kit, piece } = placed.prepared.piece;
    const [x, y] = at ? apply(onPage(sheet, placed, side), at.x, at.y) : [0, 0];
    const what = `paper would show beyond ${(by / 1000).toFixed(1)} mm at a cut of place ${placed.number} (${kit}, ${piece})${posesWords(here, most)}`;
    faults.push({ check: "paper", what, at: { x, y } });
  }
  return { faults, by: paper, under: all };
};

/** The poses within what both machines may be off that are enough. */
const posesWords = (under: Readonly<Record<PoseKind, number>>, most: number): string => {
  const enough = POSES.filter((kind) => under[kind] < most);
  return enough.length === 0
    ? ""
    : ` (${enough.map((kind) => `a ${kind} by ${(under[kind] / 1000).toFixed(1)} mm`).join(", ")})`;
};
