import type { Contour } from "@kitforme/geometry";
import type { Mark } from "@kitforme/sheet";

/** Width of a cross's arms as a share of its size: 1 mm at 5 mm, thick enough for a camera and for one ink (no source). */
const ARM = 0.2;

/** A mark as one solid shape in sheet space: all writers draw this and nothing else, so print and cut data cannot disagree. */
export type MarkShape =
  | { readonly kind: "circle"; readonly x: number; readonly y: number; readonly radius: number }
  | { readonly kind: "polygon"; readonly points: Contour<"sheet"> };

export const markShape = ({ at, shape, size }: Mark): MarkShape => {
  const r = size / 2;
  if (shape === "disc") return { kind: "circle", x: at.x, y: at.y, radius: r };
  const ring = (points: readonly (readonly [number, number])[]): MarkShape => ({
    kind: "polygon",
    points: points.map(([x, y]) => ({ x: at.x + x, y: at.y + y })),
  });
  if (shape === "square")
    return ring([
      [-r, -r],
      [r, -r],
      [r, r],
      [-r, r],
    ]);
  // Another shape would be drawn as a cross: the compiler is to ask for it here.
  shape satisfies "cross";
  const h = Math.round((size * ARM) / 2);
  // Counter-clockwise from the foot of the cross.
  return ring([
    [-h, -r],
    [h, -r],
    [h, -h],
    [r, -h],
    [r, h],
    [h, h],
    [h, r],
    [-h, r],
    [-h, h],
    [-r, h],
    [-r, -h],
    [-h, -h],
  ]);
};
