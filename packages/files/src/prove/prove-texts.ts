import { apply, flattenCubic, flattenQuadratic, inverse, type Matrix, multiply, type Point } from "@kitforme/geometry";
import type { Press } from "@kitforme/kit";
import type { Ink } from "@kitforme/prepress";
import type { Sheet, SheetInk } from "@kitforme/sheet";
import type { ProofFault } from "./fault.ts";
import { pathSteps } from "../path-steps.ts";
import { fillRings } from "./fill-rings.ts";
import { indexed, type Way } from "./lines.ts";
import { POSES, type Pose, type PoseKind } from "./poses.ts";
import { onPage, referenceOf } from "./prove-picture.ts";
import type { References } from "./reference.ts";
import type { Seen } from "./seen.ts";
import { textRoom } from "./text-beyond.ts";

/** Curves of letters are followed within this, micrometres. */
const CHORD = 10;
/** Share of the way from what lies under a text to its ink that its pixels must have gone; thin strokes cover half of theirs. */
const SHARE = 0.4;
/** A text whose ink is nearer to what lies under it cannot be seen, nor proven; the sum of squares of levels. */
const CONTRAST = 48 ** 2;
/** How much nearer to a cut than its `safe` a text may be found: what reading both back is off by, micrometres. */
const SLACK = 100;

type Colour = readonly [number, number, number];

/** Every text in its ink at its place, the slug, the sheet's code and what the waste carries among them, and none touched by a cut of the written file. */
export const proveTexts = async (
  sheet: Sheet,
  press: Press,
  side: "front" | "back",
  seen: Seen,
  cuts: readonly Way[],
  references: References,
  { poses, most }: { readonly poses: readonly Pose[]; readonly most: number },
): Promise<{
  readonly faults: ProofFault[];
  readonly room: { readonly by: number; readonly under: Readonly<Record<PoseKind, number>> };
}> => {
  const faults: ProofFault[] = [];
  let by = Infinity;
  const under: Record<PoseKind, number> = { shift: Infinity, turn: Infinity, stretch: Infinity };
  const toSeen: Matrix = [seen.scale[0], 0, 0, -seen.scale[1], -seen.left, seen.pageHeight * seen.scale[1] - seen.top];
  const lines = indexed(cuts);
  for (const placed of sheet.placed) {
    const texts = placed.texts.filter((text) => (text.side ?? "front") === side);
    if (texts.length === 0) continue;
    const reference = await referenceOf(placed, press, side, references);
    const matrix = multiply(toSeen, onPage(sheet, placed, side));
    const toReference = multiply(reference.toPixels, inverse(matrix));
    for (const { slot, text, ink, ground, outlines } of texts) {
      const rings = ringsOfData(outlines);
      const tell = (check: "text" | "paper", what: string, at?: Point): void => {
        const { kit, piece } = placed.prepared.piece;
        const told = `the text ${JSON.stringify(text)} of place ${placed.number} (${kit}, ${piece}) ${what}`;
        faults.push({ check, what: told, ...(at ? { at } : {}) });
      };
      const below = ground && (await references.colourOf(ground.ink, press));
      const share = await inked(seen, rings, matrix, ink, press, references, (column, row) => {
        if (below) return below;
        const [u, v] = apply(toReference, column + 0.5, row + 0.5).map(Math.floor) as [number, number];
        const i = 3 * (v * reference.width + u);
        return [reference.colour[i] ?? 255, reference.colour[i + 1] ?? 255, reference.colour[i + 2] ?? 255];
      });
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
  for (const { outlines, ink, item } of side === "back" ? (sheet.back?.inks ?? []) : sheet.inks) {
    const shown = shownInk(ink);
    if (!shown) continue;
    const rings = ringsOfData(outlines);
    const share = await inked(seen, rings, toSeen, shown, press, references, () => [255, 255, 255]);
    const at = rings[0]?.[0];
    if (share < SHARE)
      faults.push({
        check: "text",
        what: `${item ? ITEMS[item] : "the slug or the code of the sheet"} is not found in the print`,
        ...(item && at ? { at } : {}),
      });
  }
  return { faults, room: { by, under } };
};

const ITEMS = {
  colourBar: "a patch of the colour bar",
  registerTarget: "a register target",
  scaleBar: "the scale bar",
} as const;

/** What stands for an ink in the picture; undefined for a spot ink, of which only its artwork says so. */
const shownInk = (ink: SheetInk["ink"]): Ink | undefined =>
  ink.space !== "spot" ? ink : ink.name === "All" ? { space: "cmyk", c: 1, m: 1, y: 1, k: 1 } : undefined;

/** Mean share of an ink over the pixels of a shape; 1 where nothing can be told. */
const inked = async (
  seen: Seen,
  rings: readonly (readonly Point[])[],
  matrix: Matrix,
  ink: Ink,
  press: Press,
  references: References,
  under: (column: number, row: number) => Colour,
): Promise<number> => {
  const colour = await references.colourOf(ink, press);
  let [sum, count] = [0, 0];
  const pixels = rings.map((ring) => ring.map((p) => apply(matrix, p.x, p.y)));
  fillRings(pixels, { width: seen.width, height: seen.height, rule: "nonzero" }, (row, from, to) => {
    for (let column = from; column < to; column++) {
      const ground = under(column, row);
      const at = (row * seen.width + column) * 4;
      let [way, whole] = [0, 0];
      for (let k = 0; k < 3; k++) {
        const range = (colour[k] as number) - (ground[k] as number);
        way += range * ((seen.data[at + k] as number) - (ground[k] as number));
        whole += range * range;
      }
      if (whole < CONTRAST) continue;
      sum += way / whole;
      count++;
    }
  });
  return count < 6 ? 1 : sum / count;
};

/** Path data of this house as rings. */
const ringsOfData = (outlines: string): Point[][] => {
  const rings: Point[][] = [];
  for (const { command, values: n } of pathSteps(outlines)) {
    const at = (i: number): Point => ({ x: n[i] as number, y: n[i + 1] as number });
    const ring = rings.at(-1);
    const from = ring?.at(-1);
    if (command === "M") rings.push([at(0)]);
    else if (!ring || !from) continue;
    else if (command === "L") ring.push(at(0));
    else if (command === "C") ring.push(...flattenCubic(from, at(0), at(2), at(4), CHORD).slice(1));
    else if (command === "Q") ring.push(...flattenQuadratic(from, at(0), at(2), CHORD).slice(1));
  }
  return rings;
};
