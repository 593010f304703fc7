import type { Field, Footprint } from "../shapes/footprint.ts";
import { contactsOf } from "./contacts.ts";
import { type DepthMap, depthAt } from "./depth.ts";
import { depthMap } from "./depth-map.ts";
import type { CatalogueOptions, Kind, Pose } from "./kind.ts";
import { hullArea } from "./hull.ts";
import { overlapBoundary, shapeOf } from "./overlap-boundary.ts";
import { areaOf, type Box, boxOf, partsOf, turned } from "../shapes/ring.ts";
import { rounded, simplify } from "../shapes/simplify.ts";
import { turnsOn } from "../shapes/turns.ts";

/** Turns come from a list or a division of 360: equal ones compare equal after this. */
const tick = (degrees: number): number => (Math.round((((degrees % 360) + 360) % 360) * 1e6) % 360e6) / 1e6;

/** Rings of more points than this after the fine growth get the coarse one as well. */
const MANY_POINTS = 64;

/**
 * Saw teeth, fur, torn edges: what still has more points than `points` grows over its valleys, the shallowest first, by at most the
 * last of so many micrometres. A map takes time by the product of both shapes' points: two pieces of 500 teeth took 40 s, now 5.
 */
const CROWDED = { points: 120, distances: [300, 600, 1200, 2400, 4800, 9600], fraction: 0.3 };

const simplified = (ring: readonly number[], { growth, coarse }: CatalogueOptions): number[] => {
  let found = simplify(ring, growth);
  if (coarse && found.length > 2 * MANY_POINTS) found = simplify(found, coarse);
  const { points, distances, fraction } = CROWDED;
  for (const distance of distances)
    if (found.length > 2 * points) found = simplify(found, { distance, fraction, points });
  return found;
};

/** Maps of hundreds of kinds would fill any memory: past this the least that works is kept, by starting over. */
const MOST_BYTES = 160_000_000;

const UNLIMITED: Box = { minX: Infinity, minY: Infinity, maxX: -Infinity, maxY: -Infinity };

/**
 * All shapes of a request in all their turns, and for each two poses the map of how deep they overlap. Maps are made when
 * first asked for and used again: a turn of both shapes is a turn of the map, and (b, a) is (a, b) mirrored in the origin.
 */
export class Catalogue {
  readonly kinds: Kind[] = [];
  readonly poses: Pose[] = [];
  /** Poses of each kind, per field. */
  readonly posesOn: number[][][] = [];
  /** Per pose: box of the shape relative to its origin. */
  minX = new Float64Array(0);
  minY = new Float64Array(0);
  maxX = new Float64Array(0);
  maxY = new Float64Array(0);
  /** Per kind: weight of its overlaps (fourth root of hull areas multiply to a length), and diameter. */
  readonly lambda: number[] = [];
  readonly diameter: number[] = [];
  readonly options: CatalogueOptions;
  /** Per field, the obstacles: pose at its fixed place. */
  readonly obstacles: { pose: number; x: number; y: number }[][] = [];
  /** Per field and pose: where the pose's origin may lie; empty when maxX < minX. */
  readonly inner: Box[][] = [];
  maps: DepthMap[] = [];
  bytes = 0;
  /** Contact lines of each map, made when first asked for. */
  #contacts: Float64Array[] = [];
  #indexOf = new Map<string, number>();
  /** Per ordered pair of poses: its map, or -1. */
  pairMap = new Int32Array(0);
  /** Per ordered pair of poses: matrix from the sheet's difference to the map's. */
  pairTurn = new Float64Array(0);

  constructor(footprints: readonly Footprint[], fields: readonly Field[], options: CatalogueOptions) {
    this.options = options;
    const find = new Map<string, number>();
    const poseOf = (kind: number, turn: number): number => {
      const key = `${kind}@${tick(turn)}`;
      let pose = find.get(key);
      if (pose === undefined) {
        const k = this.kinds[kind];
        pose = this.poses.length;
        find.set(key, pose);
        this.poses.push({ kind, turn, box: k.shapeBox(turn), core: k.coreBox(turn) });
      }
      return pose;
    };
    for (const footprint of footprints) {
      const exact = footprint.shape.map((o) => o.outer.flatMap((p) => [p.x, p.y]));
      const core = footprint.core.map((o) => o.outer.flatMap((p) => [p.x, p.y]));
      const parts = partsOf(footprint.shape, (ring) => rounded(simplified(ring, options)));
      this.#addKind({
        parts,
        shapeBox: (t) => boxOf(exact.map((r) => turned(r, t, true))),
        coreBox: (t) => (core.length > 0 ? boxOf(core.map((r) => turned(r, t, true))) : UNLIMITED),
        area: parts.reduce((sum, { ring }) => sum + Math.abs(areaOf(ring)), 0),
        obstacle: false,
      });
    }
    fields.forEach((field, f) => {
      this.posesOn[f] = footprints.map((footprint, k) =>
        turnsOn(footprint, field, options.free).map((t) => poseOf(k, t)),
      );
      this.obstacles[f] = field.keepOuts.map((contour) => {
        const points = contour.flatMap((p) => [p.x, p.y]);
        const at = boxOf([points]);
        const ring = points.map((v, i) => v - (i % 2 === 0 ? at.minX : at.minY));
        const name = `keep-out ${ring.join(" ")}`;
        let kind = find.get(name);
        if (kind === undefined) {
          const parts = partsOf([
            { outer: contour.map((p) => ({ x: p.x - at.minX, y: p.y - at.minY })), openings: [] },
          ]);
          kind = this.#addKind({
            parts,
            shapeBox: () => boxOf([ring]),
            coreBox: () => UNLIMITED,
            area: Math.abs(areaOf(ring)),
            obstacle: true,
          });
          find.set(name, kind);
        }
        return { pose: poseOf(kind, 0), x: at.minX, y: at.minY };
      });
    });
    const n = this.poses.length;
    this.minX = Float64Array.from(this.poses, (p) => p.box.minX);
    this.minY = Float64Array.from(this.poses, (p) => p.box.minY);
    this.maxX = Float64Array.from(this.poses, (p) => p.box.maxX);
    this.maxY = Float64Array.from(this.poses, (p) => p.box.maxY);
    this.pairMap = new Int32Array(n * n).fill(-1);
    this.pairTurn = new Float64Array(4 * n * n);
    fields.forEach((field, f) => {
      const { bounds, coreBounds } = field;
      this.inner[f] = this.poses.map(({ box, core }) => ({
        minX: Math.max(bounds.x - box.minX, coreBounds.x - core.minX),
        minY: Math.max(bounds.y - box.minY, coreBounds.y - core.minY),
        maxX: Math.min(bounds.x + bounds.width - box.maxX, coreBounds.x + coreBounds.width - core.maxX),
        maxY: Math.min(bounds.y + bounds.height - box.maxY, coreBounds.y + coreBounds.height - core.maxY),
      }));
    });
  }

  #addKind(kind: Kind): number {
    const rings = kind.parts.map(({ ring }) => ring);
    const box = boxOf(rings);
    const points = rings.flatMap((r) =>
      Array.from({ length: r.length / 2 }, (_, i) => [r[2 * i], r[2 * i + 1]] as const),
    );
    this.kinds.push(kind);
    this.lambda.push(Math.sqrt(Math.sqrt(hullArea(points))));
    this.diameter.push(Math.hypot(box.maxX - box.minX, box.maxY - box.minY));
    return this.kinds.length - 1;
  }

  /** The map of pose `v` moved against pose `u`, made if need be. */
  pair(u: number, v: number): number {
    const n = this.poses.length;
    const known = this.pairMap[u * n + v];
    if (known >= 0) return known;
    const p = this.poses[u];
    const q = this.poses[v];
    // Kinds in order; of one kind, the turn between them at most a half.
    let [a, b, sign] = [p, q, 1];
    if (p.kind > q.kind || (p.kind === q.kind && tick(q.turn - p.turn) > 180)) [a, b, sign] = [q, p, -1];
    const between = tick(b.turn - a.turn);
    const key = `${a.kind}/${b.kind}/${between}`;
    let index = this.#indexOf.get(key);
    if (index === undefined) {
      if (this.bytes > MOST_BYTES) this.#drop();
      const first = this.kinds[a.kind];
      const second = this.kinds[b.kind];
      const boundary = overlapBoundary(
        first.parts.map((part) => shapeOf(part, 0)),
        second.parts.map((part) => shapeOf(part, between)),
      );
      const clearance = first.obstacle || second.obstacle ? 0 : this.options.clearance;
      // Oblique turns are rounded once more here than on the sheet.
      const slack = between % 90 === 0 && a.turn % 90 === 0 ? 0 : 2;
      const map = depthMap(boundary, clearance + slack, this.options.cells);
      index = this.maps.length;
      this.#keep(map);
      this.#indexOf.set(key, index);
    }
    // difference on the sheet -> R(-turn of a) * sign
    const rad = (a.turn * Math.PI) / 180;
    const quarter = a.turn % 90 === 0;
    const cos = sign * (quarter ? Math.round(Math.cos(rad)) : Math.cos(rad));
    const sin = sign * (quarter ? Math.round(Math.sin(rad)) : Math.sin(rad));
    const at = u * n + v;
    this.pairTurn.set([cos, sin, -sin, cos], 4 * at);
    this.pairMap[at] = index;
    return index;
  }

  /** Lines on which pose `v` just keeps clear of pose `u`, ax ay bx by, in the map's own turn. */
  contacts(u: number, v: number): Float64Array {
    const map = this.pair(u, v);
    return (this.#contacts[map] ??= contactsOf(this.maps[map]));
  }

  /** The maps made so far, for a thread that need not make them again. */
  known(): [key: string, map: DepthMap][] {
    return [...this.#indexOf].map(([key, index]) => [key, this.maps[index]]);
  }

  /** Takes over what another catalogue of the same footprints and fields has made. */
  adopt(known: readonly (readonly [key: string, map: DepthMap])[]): void {
    for (const [key, map] of known) {
      if (this.#indexOf.has(key)) continue;
      this.#indexOf.set(key, this.maps.length);
      this.#keep(map);
    }
  }

  #keep(map: DepthMap): void {
    this.maps.push(map);
    this.bytes += map.nodes.byteLength + map.cells.byteLength + map.lists.byteLength + map.ends.byteLength + 600;
  }

  /** Lets all maps go; they are made again when asked for. */
  #drop(): void {
    this.maps = [];
    this.#contacts = [];
    this.bytes = 0;
    this.#indexOf.clear();
    this.pairMap.fill(-1);
  }

  /** Depth of overlap of pose `v` at (dx, dy) from pose `u`. */
  depth(u: number, v: number, dx: number, dy: number): number {
    const at = u * this.poses.length + v;
    const map = this.pair(u, v);
    const t = this.pairTurn;
    return depthAt(this.maps[map], t[4 * at] * dx + t[4 * at + 1] * dy, t[4 * at + 2] * dx + t[4 * at + 3] * dy);
  }
}
