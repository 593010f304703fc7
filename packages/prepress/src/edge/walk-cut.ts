import type { Contour, Outline, Point } from "@kitforme/geometry";

/** A place on a cut and the way out of the piece: a unit vector, into the waste, of openings too. Drawing space, µm. */
export interface Station {
  readonly x: number;
  readonly y: number;
  readonly outX: number;
  readonly outY: number;
}

/**
 * Walks every ring of the outlines in steps of about `step` µm, corners not visited.
 *
 * @returns for each ring its stations, in order, and the true length between two of them
 */
export const walkCut = (
  parts: readonly Outline<"drawing">[],
  step: number,
): { readonly stations: readonly Station[]; readonly step: number }[] =>
  parts.flatMap(({ outer, openings }) => [outer, ...openings].map((ring) => walk(ring, step)));

const walk = (ring: Contour<"drawing">, wanted: number): { stations: Station[]; step: number } => {
  const sides = ring.map((from, i) => {
    const to = ring[(i + 1) % ring.length] as Point<"drawing">;
    return { from, to, long: Math.hypot(to.x - from.x, to.y - from.y) };
  });
  const length = sides.reduce((sum, { long }) => sum + long, 0);
  const step = length / Math.max(1, Math.round(length / wanted));
  const stations: Station[] = [];
  let next = step / 2;
  let passed = 0;
  for (const { from, to, long } of sides) {
    // Outer rings wind one way and openings the other, so that the waste is on the same hand of both.
    const [outX, outY] = [(to.y - from.y) / long, (from.x - to.x) / long];
    for (; next < passed + long; next += step) {
      const share = (next - passed) / long;
      stations.push({ x: from.x + share * (to.x - from.x), y: from.y + share * (to.y - from.y), outX, outY });
    }
    passed += long;
  }
  return { stations, step };
};
