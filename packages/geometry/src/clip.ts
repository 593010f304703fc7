// The parts of open lines inside or outside of outlines. clipper-lib can do it, but turns lines round, calls a line on an
// edge now inside and now outside, and loses lines when there is nothing to clip with; so this is ours, and exact.
import { edgeEnds, edgesOf, joinEdges } from "./edges.ts";
import { between, meetingPlace, type Side, sideOf } from "./orient.ts";
import { insideOutlines, ringsOf } from "./outline.ts";
import type { Contour, Outline, Path, Point, Space } from "./point.ts";

/**
 * The parts of lines on one side of outlines, in the order and direction in which they were drawn. A stretch along an edge counts
 * as inside. Cut ends are rounded to the micrometre; parts that round to a point are dropped.
 */
export const clipPaths = <S extends Space>(
  paths: readonly Path<S>[],
  outlines: readonly Outline<S>[],
  side: "inside" | "outside",
): Path<S>[] => {
  const wanted = (at: Side) => (side === "inside" ? at >= 0 : at < 0);
  return paths.flatMap((path) => {
    const cuts = cutsOf(path, ringsOf(outlines));
    const parts: Point<S>[][] = [];
    let open = false;
    for (let i = 0; i + 1 < path.length; i++) {
      const [p, q] = edgeEnds(edgesOf(path, false), i);
      const along = (r: Point) => (r.x - p.x) * (q.x - p.x) + (r.y - p.y) * (q.y - p.y);
      const stops = [p, ...(cuts.get(i) ?? []).sort((r, s) => along(r) - along(s)), q];
      for (let k = 1; k < stops.length; k++) {
        const [r, s] = [stops[k - 1] as Point, stops[k] as Point];
        if (r.x === s.x && r.y === s.y) continue;
        // Where both ends are corners the middle is exact in halves, so "on the edge" is known for certain.
        const keep = wanted(insideOutlines(outlines, { x: (r.x + s.x) / 2, y: (r.y + s.y) / 2 }));
        if (keep && !open) parts.push([]);
        if (keep) extend(parts.at(-1) as Point<S>[], [r, s]);
        open = keep;
      }
    }
    return parts.filter((part) => part.length > 1);
  });
};

const extend = <S extends Space>(part: Point<S>[], points: readonly Point[]): void => {
  for (const { x, y } of points) {
    const p: Point<S> = { x: Math.round(x) + 0, y: Math.round(y) + 0 };
    const last = part.at(-1);
    if (last?.x !== p.x || last.y !== p.y) part.push(p);
  }
};

/** By edge of the path: where rings meet it. Corners of rings as they are, crossings not rounded. */
const cutsOf = (path: Path, rings: readonly Contour[]): Map<number, Point[]> => {
  const cuts = new Map<number, Point[]>();
  const tree = edgesOf(path, false);
  for (const ring of rings) {
    const other = edgesOf(ring, true);
    joinEdges(
      tree,
      other,
      () => 0,
      (i, j) => {
        const [p, q] = edgeEnds(tree, i);
        const [r, s] = edgeEnds(other, j);
        const [pr, ps] = [sideOf(p, q, r), sideOf(p, q, s)];
        const through = pr * ps < 0 && sideOf(r, s, p) * sideOf(r, s, q) < 0;
        // Each corner begins one edge, so r alone is enough.
        const cut = pr === 0 && between(p, q, r) ? r : through ? meetingPlace(p, q, r, s) : undefined;
        if (cut) cuts.set(i, [...(cuts.get(i) ?? []), cut]);
        return false;
      },
    );
  }
  return cuts;
};
