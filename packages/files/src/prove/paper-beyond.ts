import { area, type Outline, type Point } from "@kitforme/geometry";

/** Cuts are looked at so often, micrometres along them, and so finely beyond them. */
const ALONG = 1000;
const OUT = 100;
/** Ink is looked for so far within the cut: the very edge is half a pixel of both. */
const WITHIN = 300;

/**
 * How far beyond the cuts of a piece its ink reaches, square to them, wherever there is ink within them. No shift, turn or
 * stretch of the print moves any point farther than its own sum, and square to the cut is the shortest way to paper: so this
 * is the worst of them all. Where artwork itself leaves the paper bare at a cut, bare paper is meant.
 * @param most as far as is looked, micrometres
 * @returns the least distance that two neighbours along the cut bear out: one pixel is no edge; Infinity without ink at any cut
 */
export const paperBeyond = (
  parts: readonly Outline<"drawing">[],
  most: number,
  inked: (x: number, y: number) => boolean,
): { readonly by: number; readonly at?: Point<"drawing"> } => {
  let least: { by: number; at?: Point<"drawing"> } = { by: Infinity };
  const rings = parts.flatMap(({ outer, openings }) => [
    { ring: outer, out: 1 },
    ...openings.map((ring) => ({ ring, out: -1 })),
  ]);
  for (const { ring, out } of rings) {
    const turn = Math.sign(area(ring)) * out;
    const found = ring.flatMap((a, i) => {
      const b = ring[(i + 1) % ring.length] as Point<"drawing">;
      const length = Math.hypot(b.x - a.x, b.y - a.y);
      if (length === 0) return [];
      const [nx, ny] = [((b.y - a.y) / length) * turn, (-(b.x - a.x) / length) * turn];
      const count = Math.max(1, Math.round(length / ALONG));
      return Array.from({ length: count }, (_, k) => {
        const t = (k + 0.5) / count;
        const at: Point<"drawing"> = { x: a.x + t * (b.x - a.x), y: a.y + t * (b.y - a.y) };
        if (!inked(at.x - WITHIN * nx, at.y - WITHIN * ny)) return { at, by: Infinity };
        for (let by = OUT; by <= most; by += OUT)
          if (!inked(at.x + by * nx, at.y + by * ny)) return { at, by: by - OUT };
        return { at, by: most };
      });
    });
    found.forEach(({ at, by }, i) => {
      const around = [found.at(i - 1)?.by ?? by, by, found[(i + 1) % found.length]?.by ?? by];
      const borne = Math.max(...around);
      if (borne < least.by) least = { by: borne, at };
    });
  }
  return least;
};
