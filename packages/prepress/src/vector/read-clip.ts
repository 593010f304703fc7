import { type Matrix, multiply } from "@kitforme/geometry";
import { nameIn, transformOf } from "./attributes.ts";
import type { Element, NormalDrawing } from "./normal-tree.ts";
import { type Bounds, boundsOf, readPath, type Segment } from "./path.ts";
import { type Clip, Obstacle } from "./shapes.ts";

/**
 * The clips that a group stands under: each takes away from what is left. Undefined when nothing is left.
 *
 * @param matrix from the group's units to the page
 * @param inside bounds of what is clipped, in the group's units
 * @throws Obstacle where shapes of a clip overlap: a page has no word for the union of several
 */
export const readClip = (
  id: string | undefined,
  named: NormalDrawing["named"],
  matrix: Matrix,
  inside: () => Bounds | undefined,
): readonly Clip[] | undefined => {
  const clips: Clip[] = [];
  const seen = new Set<string>();
  for (let next = id; next !== undefined; ) {
    const element = named.get(next);
    if (element?.name !== "clipPath" || seen.has(next)) throw new Obstacle("a clip that is not there");
    seen.add(next);
    let own = multiply(matrix, transformOf(element.attributes.get("transform")));
    if (element.attributes.get("clipPathUnits") === "objectBoundingBox") {
      const [left, top, right, bottom] = inside() ?? [0, 0, 0, 0];
      if (right <= left || bottom <= top) return undefined;
      own = multiply(
        multiply(matrix, [right - left, 0, 0, bottom - top, left, top]),
        transformOf(element.attributes.get("transform")),
      );
    }
    const parts = element.children.flatMap((child) => partsOf(child, own));
    if (parts.length === 0) return undefined;
    clips.push(together(parts));
    const further = element.attributes.get("clip-path");
    next = further === undefined ? undefined : nameIn(further);
    if (further !== undefined && next === undefined) throw new Obstacle("a clip that is not there");
  }
  return clips;
};

interface Part {
  readonly path: readonly Segment[];
  readonly matrix: Matrix;
  readonly evenOdd: boolean;
}

const partsOf = ({ name, attributes, children }: Element, outer: Matrix): Part[] => {
  const matrix = multiply(outer, transformOf(attributes.get("transform")));
  if (attributes.has("clip-path")) throw new Obstacle("a clip within a clip", boundsOfAll(children, matrix));
  if (name === "g") return children.flatMap((child) => partsOf(child, matrix));
  const path = name === "path" ? readPath(attributes.get("d") ?? "") : undefined;
  if (!path) throw new Obstacle(`a clip made of ${name}`);
  if (path.length === 0 || attributes.get("visibility") === "hidden") return [];
  return [{ path, matrix, evenOdd: attributes.get("clip-rule") === "evenodd" }];
};

/** Shapes that lie apart are one path; of one kind of filling, since a page clips by one. */
const together = (parts: readonly Part[]): Clip => {
  const bounds = parts.map(({ path, matrix }) => boundsOf(path, matrix));
  for (const [i, a] of bounds.entries())
    for (const b of bounds.slice(0, i))
      if (a && b && a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3])
        throw new Obstacle("a clip of shapes that overlap", a);
  const rules = new Set(parts.map(({ evenOdd }) => evenOdd));
  if (rules.size > 1) throw new Obstacle("a clip of shapes with different filling rules", bounds[0]);
  return { parts, evenOdd: parts[0]?.evenOdd ?? false };
};

const boundsOfAll = (elements: readonly Element[], matrix: Matrix): Bounds | undefined => {
  const path = readPath(elements.find(({ name }) => name === "path")?.attributes.get("d") ?? "");
  return path && boundsOf(path, matrix);
};
