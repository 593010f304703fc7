import {
  bounds,
  type Contour,
  insideOutlines,
  nearEdges,
  type Outline,
  type Point,
  type Rect,
  simplifyRing,
  toMm,
  type Um,
} from "@kitforme/geometry";
import { placeOf } from "../../numbers.ts";
import type { FitCheck } from "./fit-check.ts";

/** Corners nearer to the line than this say nothing about the paper's width: noise of tracing and of flattening. */
export const FINE = 20;
/**
 * Along the edge from one side of a bridge to the other it is far: at least six times its width. Where it is less the paper
 * runs out into a point, of more than 19 degrees, which is no bridge.
 */
const ROUND_THE_TIP = 6;
/** Edge pairs that are gathered: the edge of a saw blade has thousands, and a hundred say as much. */
const MOST_PAIRS = 20_000;

interface Ring {
  readonly points: Contour<"drawing">;
  /** How far each corner is along the ring. */
  readonly along: readonly number[];
  readonly length: number;
}

/** Edge `i` of ring `a` faces edge `j` of ring `b` across thin paper. */
interface Narrow {
  readonly a: number;
  readonly i: number;
  readonly b: number;
  readonly j: number;
  readonly apart: Um;
  readonly at: Point<"drawing">;
}

/** Paper between two cuts, or two stretches of one, thinner than the cutter can leave it, at its thinnest places. */
export const paperThin: FitCheck = (piece, { cutter }, report) => {
  const least = cutter.least.bridge;
  if (least === 0) return;
  for (const part of piece.parts)
    for (const { apart, at } of thinPlaces(part, least))
      report.say("paper-thin", { width: toMm(apart), least: toMm(least) }, { operation: "cutting", at: placeOf(at) });
};

/** The thinnest place of every strip of a part that is thinner than `least`, thinnest first. */
const thinPlaces = (part: Outline<"drawing">, least: Um): Narrow[] => {
  const rings = [part.outer, ...part.openings].flatMap((contour): Ring[] => {
    const points = simplifyRing(contour, FINE);
    return points.length > 2 ? [measured(points)] : [];
  });
  const boxes = rings.map(({ points }) => bounds(points));
  const found: Narrow[] = [];
  for (const [a, one] of boxes.entries())
    for (let b = a; b < boxes.length && found.length < MOST_PAIRS; b++) {
      const two = boxes[b] as Rect;
      if (one.x > two.x + two.width + least || two.x > one.x + one.width + least) continue;
      if (one.y > two.y + two.height + least || two.y > one.y + one.height + least) continue;
      found.push(...facing(rings, a, b, least, MOST_PAIRS - found.length));
    }
  return strips(found, rings)
    .map((strip) => strip.reduce((best, one) => (one.apart < best.apart ? one : best)))
    .filter(({ apart, at }) => apart === 0 || insideOutlines([part], at) >= 0)
    .sort((p, q) => p.apart - q.apart || p.at.y - q.at.y || p.at.x - q.at.x);
};

/** Edges of two rings, or of one, that face each other across paper thinner than `least`. */
const facing = (rings: readonly Ring[], a: number, b: number, least: Um, most: number): Narrow[] => {
  const [one, two] = [rings[a] as Ring, rings[b] as Ring];
  const found: Narrow[] = [];
  // A bridge exactly as wide as the least is wide enough, give or take what the simpler line strays.
  const within = least - FINE;
  nearEdges({ points: one.points, closed: true }, { points: two.points, closed: true }, within, (pair) => {
    const { i, j, apart, p, q } = pair;
    if (a === b && roundBetween(one, i, p, j, q) < Math.max(4 * least, ROUND_THE_TIP * apart)) return undefined;
    if (apart > 0 && !(faces(one.points, i, p, q) && faces(two.points, j, q, p))) return undefined;
    found.push({ a, i, b, j, apart, at: { x: Math.round((p.x + q.x) / 2), y: Math.round((p.y + q.y) / 2) } });
    return found.length >= most;
  });
  return found;
};

/** Edge pairs beside each other on both sides are one strip. */
const strips = (found: readonly Narrow[], rings: readonly Ring[]): Narrow[][] => {
  const byEdges = new Map(found.map((one, k) => [`${one.a} ${one.i} ${one.b} ${one.j}`, k]));
  const strip = found.map(() => -1);
  const all: Narrow[][] = [];
  for (const k of found.keys()) {
    if (strip[k] !== -1) continue;
    const open = [k];
    const members: Narrow[] = [];
    strip[k] = all.length;
    for (let next = open.pop(); next !== undefined; next = open.pop()) {
      const { a, i, b, j } = found[next] as Narrow;
      members.push(found[next] as Narrow);
      const [m, n] = [(rings[a] as Ring).points.length, (rings[b] as Ring).points.length];
      for (const di of [-1, 0, 1])
        for (const dj of [-1, 0, 1]) {
          const beside = byEdges.get(`${a} ${(i + di + m) % m} ${b} ${(j + dj + n) % n}`);
          if (beside === undefined || strip[beside] !== -1) continue;
          strip[beside] = all.length;
          open.push(beside);
        }
    }
    all.push(members);
  }
  return all;
};

const measured = (points: Contour<"drawing">): Ring => {
  const along: number[] = [];
  let length = 0;
  for (const [i, p] of points.entries()) {
    along.push(length);
    const q = points[(i + 1) % points.length] as Point;
    length += Math.hypot(q.x - p.x, q.y - p.y);
  }
  return { points, along, length };
};

type Spot = { readonly x: number; readonly y: number };

/** From one place on a ring to another along it, the shorter way. */
const roundBetween = ({ points, along, length }: Ring, i: number, p: Spot, j: number, q: Spot): number => {
  const place = (k: number, s: Spot): number => {
    const from = points[k] as Point;
    return (along[k] ?? 0) + Math.hypot(s.x - from.x, s.y - from.y);
  };
  const way = Math.abs(place(i, p) - place(j, q));
  return Math.min(way, length - way);
};

/** Whether the paper of edge i (on its left: outlines are wound so) is on the side where `to` lies. */
const faces = (ring: Contour<"drawing">, i: number, from: Spot, to: Spot): boolean => {
  const a = ring[i] as Point;
  const b = ring[(i + 1) % ring.length] as Point;
  const left = (b.x - a.x) * (to.y - from.y) - (b.y - a.y) * (to.x - from.x);
  // At a corner the nearest way leads off along the edge: whichever of its two edges faces decides, so the bound is loose.
  return left > -1e-3 * Math.hypot(b.x - a.x, b.y - a.y) * Math.hypot(to.x - from.x, to.y - from.y);
};
