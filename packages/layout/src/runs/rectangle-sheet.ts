import { breachesOf, type Effort, type Field, type Footprint } from "@kitforme/nest";
import type { Rect } from "@kitforme/geometry";
import { gangRectangles } from "./gang-rectangles.ts";
import type { RectanglesRequest } from "./rectangles.ts";
import { type Geometry, priceOf, type Quota, type Search } from "./search.ts";

/** Layouts rebuilt in search of one: some hundreds in a hundredth of a second. */
const REBUILT: Record<Effort, number> = { quick: 15_000, normal: 60_000, best: 600_000 };
/** Kinds, and places on a sheet at the shortest run, up to which cuts from edge to edge are searched. */
const MOST = { kinds: 40, places: 150 };

/** A rectangle that a footprint is, and how far its cut outlines stay inside it. */
interface Box extends Rect {
  readonly inset: number;
}

const extentOf = (outlines: Footprint["shape"]): { x0: number; y0: number; x1: number; y1: number } => {
  const points = outlines.flatMap((o) => o.outer);
  const xs = points.map((p) => p.x);
  const ys = points.map((p) => p.y);
  return { x0: Math.min(...xs), y0: Math.min(...ys), x1: Math.max(...xs), y1: Math.max(...ys) };
};

/** The rectangle along the axes that a footprint's shape is; undefined for any other shape. */
const boxOf = ({ shape, core }: Footprint): Box | undefined => {
  const [outline] = shape;
  if (!outline || shape.length > 1 || outline.openings.length > 0 || outline.outer.length !== 4) return undefined;
  const { x0, y0, x1, y1 } = extentOf(shape);
  const corner = ({ x, y }: { x: number; y: number }): boolean => (x === x0 || x === x1) && (y === y0 || y === y1);
  if (!outline.outer.every(corner) || new Set(outline.outer.map((p) => `${p.x} ${p.y}`)).size < 4) return undefined;
  const t = core.length > 0 ? extentOf(core) : undefined;
  const inset = t ? Math.min(t.x0 - x0, t.y0 - y0, x1 - t.x1, y1 - t.y1) : Number.POSITIVE_INFINITY;
  return inset < 0 ? undefined : { x: x0, y: y0, width: x1 - x0, height: y1 - y0, inset };
};

/** Whether a footprint may lie upright, and turned by a quarter, on a field. */
const turnsOf = ({ turns, axis }: Footprint, field: Field): { upright: boolean; quarter: boolean } => {
  const allowed = (turn: number): boolean => {
    if (axis && field.axis && (turn === 0) !== (axis === field.axis)) return false;
    return turns === "any" || turns.some((t) => ((t % 360) + 360) % 360 === turn);
  };
  return { upright: allowed(0), quarter: allowed(90) };
};

/** The largest rectangle of a field on which a piece may lie that stays `inset` within its shape; keep-outs are beyond it. */
const freeOf = ({ bounds, coreBounds, keepOuts }: Field, inset: number): Rect => {
  const more = Number.isFinite(inset) ? inset : bounds.width + bounds.height;
  const left = Math.max(bounds.x, coreBounds.x - more);
  const low = Math.max(bounds.y, coreBounds.y - more);
  const right = Math.min(bounds.x + bounds.width, coreBounds.x + coreBounds.width + more);
  const high = Math.min(bounds.y + bounds.height, coreBounds.y + coreBounds.height + more);
  const taken = keepOuts.map((contour) => extentOf([{ outer: contour, openings: [] }]));
  const within = (from: number, to: number, values: readonly number[]): number[] => [
    ...new Set([from, to, ...values.filter((v) => v > from && v < to)]),
  ];
  const xs = within(
    left,
    right,
    taken.flatMap((t) => [t.x0, t.x1]),
  );
  const ys = within(
    low,
    high,
    taken.flatMap((t) => [t.y0, t.y1]),
  );
  let best: Rect = { x: left, y: low, width: 0, height: 0 };
  for (const x of xs)
    for (const x1 of xs)
      for (const y of ys)
        for (const y1 of ys) {
          if ((x1 - x) * (y1 - y) <= best.width * best.height || x1 <= x || y1 <= y) continue;
          if (taken.some((t) => t.x0 < x1 && t.x1 > x && t.y0 < y1 && t.y1 > y)) continue;
          best = { x, y, width: x1 - x, height: y1 - y };
        }
  return best;
};

/**
 * All on one geometry where every piece is a rectangle: by cuts from edge to edge, which fill a sheet better than the general
 * way does (of twelve instances of the published ganging set, five need 1 to 17 % fewer sheets, none more). Undefined where
 * pieces are something else, where the field has no room in one rectangle, or nothing cheaper than `price` is to be had.
 */
export const rectangleSheet = (
  { book, costs, effort, signal }: Search,
  { field: f, need }: Quota,
  kinds: readonly number[],
  price: number,
): Geometry | undefined => {
  if (kinds.length > MOST.kinds) return undefined;
  const field = book.fields[f] as Field;
  const footprints = kinds.map((i) => book.footprints[i] as Footprint);
  const boxes = footprints.flatMap((p) => boxOf(p) ?? []);
  if (boxes.length < kinds.length) return undefined;
  const turns = footprints.map((p) => turnsOf(p, field));
  const quarter = turns.every((t) => t.upright && t.quarter);
  if (!quarter && !turns.every((t) => t.upright)) return undefined;
  const free = freeOf(field, Math.min(...boxes.map((b) => b.inset)));
  const gap = field.clearance;
  const request: RectanglesRequest = {
    sheet: { width: free.width + gap, height: free.height + gap },
    jobs: boxes.map((b, k) => ({
      width: b.width + gap,
      height: b.height + gap,
      copies: need[kinds[k] as number] as number,
    })),
    turns: quarter,
    iterations: REBUILT[effort],
    ...(signal ? { signal } : {}),
  };
  const area = request.jobs.reduce((sum, j) => sum + j.copies * j.width * j.height, 0);
  const least = Math.max(1, Math.ceil(area / (request.sheet.width * request.sheet.height)));
  const places = request.jobs.reduce((n, j) => n + Math.ceil(j.copies / least), 0);
  if (places > MOST.places || costs.sheetChange * least + costs.newLayout >= price) return undefined;
  const plan = gangRectangles(request);
  if (!plan) return undefined;
  const placed = plan.placed.map(({ job, x, y, width }) => {
    const box = boxes[job] as Box;
    const upright = width === box.width + gap;
    return {
      footprint: kinds[job] as number,
      turn: upright ? 0 : 90,
      x: free.x + x - (upright ? box.x : -box.y - box.height),
      y: free.y + y - (upright ? box.y : box.x),
    };
  });
  // Rounded in one way here and in another by the proof: what it refuses is no plan.
  if (breachesOf(placed, book.footprints, field).length > 0) return undefined;
  const geometry = { pattern: book.remember(f, placed), run: plan.run };
  return priceOf([geometry], costs) < price ? geometry : undefined;
};
