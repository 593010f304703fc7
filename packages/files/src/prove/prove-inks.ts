import { apply, type Rect } from "@kitforme/geometry";
import type { Press } from "@kitforme/kit";
import type { Ink } from "@kitforme/prepress";
import type { Sheet, SheetInk } from "@kitforme/sheet";
import { ringsOfPath } from "../rings-of-path.ts";
import type { ProofFault } from "./fault.ts";
import { inked, SHARE } from "./inked.ts";
import type { References } from "./reference.ts";
import { darkness, pixelsOf, type Seen } from "./seen.ts";

/** How far what the sheet itself prints may be found from its place, micrometres. */
const OFF = 150;
/** Blank paper around it that is looked at too, micrometres. */
const AROUND = 300;
/** Ink farther than so many pixels from the shape is another's. */
const NEAR = 2;
/**
 * How dark a pixel of its edge is: half covered by black; or, where that says it is off, barely touched: a line of type may end in
 * a stop or a stroke that covers half of no pixel.
 */
const DARK = [0.4, 0.12] as const;

/** What a sheet prints on a side besides its pieces and marks: code and slug, and on the back the frames behind the marks. */
export const inksOf = (sheet: Sheet, side: "front" | "back"): Sheet["inks"] =>
  side === "back" ? (sheet.back?.inks ?? []) : sheet.inks;

/** The part of a page that holds such a shape; nothing for a shape without a corner. */
export const inkWindow = (outlines: string): Rect | undefined => {
  const all = ringsOfPath(outlines).flat();
  if (all.length === 0) return undefined;
  const [xs, ys] = [all.map(({ x }) => x), all.map(({ y }) => y)];
  const least = (of: readonly number[]): number => of.reduce((a, b) => Math.min(a, b)) - AROUND;
  const most = (of: readonly number[]): number => of.reduce((a, b) => Math.max(a, b)) + AROUND;
  const [x, y] = [least(xs), least(ys)];
  return { x, y, width: most(xs) - x, height: most(ys) - y };
};

/**
 * Every such shape in its ink, its middle at its place.
 * @param partOf the part of the page, by the number of the shape
 */
export const proveInks = async (
  sheet: Sheet,
  press: Press,
  side: "front" | "back",
  partOf: (i: number) => Seen | undefined,
  references: Pick<References, "of" | "colourOf">,
): Promise<ProofFault[]> => {
  const faults: ProofFault[] = [];
  let numbered = -1;
  for (const [i, { outlines, ink, item }] of inksOf(sheet, side).entries()) {
    if (!item) numbered++;
    const shown = shownInk(ink);
    if (!shown) continue;
    const part = partOf(i);
    const rings = ringsOfPath(outlines);
    const at = rings[0]?.[0];
    if (!part || !at) continue;
    const own = ["code", "slug"][numbered] ?? `frame behind mark ${numbered - 1}`;
    const name = item ? ITEMS[item] : `the ${own} of the ${side}`;
    const share = await inked(part, rings, pixelsOf(part), shown, press, references, () => [255, 255, 255]);
    if (share < SHARE) {
      faults.push({ check: "text", what: `${name} is not found in the print`, at });
      continue;
    }
    // What the waste carries stands patch by patch, in inks as pale as yellow: its ink is what can be asked for.
    if (item) continue;
    let off = offOf(rings, part, DARK[0]) ?? 0;
    if (off > OFF) off = Math.min(off, offOf(rings, part, DARK[1]) ?? off);
    if (off > OFF)
      faults.push({ check: "text", what: `${name} lies ${(off / 1000).toFixed(2)} mm from its place`, at });
  }
  return faults;
};

const ITEMS = {
  colourBar: "a patch of the colour bar",
  registerTarget: "a register target",
  scaleBar: "the scale bar",
} as const;

/** What stands for an ink in the picture; undefined for a spot ink, of which only its artwork says so. */
const shownInk = (ink: SheetInk["ink"]): Ink | undefined =>
  ink.space !== "spot" ? ink : ink.name === "All" ? { space: "cmyk", c: 1, m: 1, y: 1, k: 1 } : undefined;

type Box = readonly [left: number, top: number, right: number, bottom: number];

/** How far the middle of a shape's ink lies from its own, micrometres; undefined without ink. */
const offOf = (rings: ReturnType<typeof ringsOfPath>, part: Seen, dark: number): number | undefined => {
  const [wanted, found] = middlesOf(rings, part, dark) ?? [];
  return wanted && found && Math.hypot((wanted.x - found.x) / part.scale[0], (wanted.y - found.y) / part.scale[1]);
};

/** The middle of a shape's box and of its ink's, pixels of the part: thin lines are drawn one pixel wide or two, so their weight says nothing. */
const middlesOf = (
  rings: ReturnType<typeof ringsOfPath>,
  part: Seen,
  dark: number,
): readonly [wanted: Middle, found: Middle] | undefined => {
  const { width, height, data } = part;
  const near = new Uint8Array(width * height);
  const matrix = pixelsOf(part);
  const pixels = rings.map((ring) => ring.map((p) => apply(matrix, p.x, p.y)));
  const wanted: [number, number, number, number] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [x, y] of pixels.flat()) {
    wanted[0] = Math.min(wanted[0], x);
    wanted[1] = Math.min(wanted[1], y);
    wanted[2] = Math.max(wanted[2], x);
    wanted[3] = Math.max(wanted[3], y);
  }
  // Along its edges: a thin shape may hold no pixel's middle.
  for (const ring of pixels)
    ring.forEach(([ax, ay], i) => {
      const [bx, by] = ring[(i + 1) % ring.length] as readonly [number, number];
      const steps = Math.max(1, Math.ceil(Math.hypot(bx - ax, by - ay)));
      for (let k = 0; k < steps; k++) {
        const [column, row] = [Math.floor(ax + ((bx - ax) * k) / steps), Math.floor(ay + ((by - ay) * k) / steps)];
        for (let y = Math.max(0, row - NEAR); y <= Math.min(height - 1, row + NEAR); y++)
          near.fill(1, y * width + Math.max(0, column - NEAR), y * width + Math.min(width, column + NEAR + 1));
      }
    });
  const found: [number, number, number, number] = [Infinity, Infinity, -Infinity, -Infinity];
  for (let row = 0; row < height; row++)
    for (let column = 0; column < width; column++) {
      const at = row * width + column;
      if (near[at] === 0 || darkness(data, 4 * at) < dark) continue;
      found[0] = Math.min(found[0], column);
      found[1] = Math.min(found[1], row);
      found[2] = Math.max(found[2], column + 1);
      found[3] = Math.max(found[3], row + 1);
    }
  return found[0] < found[2] ? [middleOf(wanted), middleOf(found)] : undefined;
};

interface Middle {
  readonly x: number;
  readonly y: number;
}

const middleOf = ([left, top, right, bottom]: Box): Middle => ({ x: (left + right) / 2, y: (top + bottom) / 2 });
