// The basic shapes of CSS for `clip-path` (CSS Shapes 1, section 3; CSS Masking 1, section 5), read from their text into
// outlines. No renderer of artwork here knows them: they leave the clip out without a word.
import { type CssNode, parse } from "./css-tree.ts";
import svgpath from "svgpath";
import { ellipsePath } from "./path-data.ts";
import { PX_PER } from "./units.ts";

/** A box in user units. */
export interface Box {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

/** What the numbers of a shape are counted from, of the boxes that an SVG element has. */
export type ReferenceBox = "fill-box" | "stroke-box" | "view-box";

/** A shape that waits for its box. An empty outline clips everything away. */
export interface ClipShape {
  readonly box: ReferenceBox;
  readonly evenOdd: boolean;
  /** Path data in the user units of the element that is clipped. */
  readonly outline: (box: Box) => string;
}

/** CSS Masking 1, 5.1: what the boxes of laid-out elements stand for where there is no layout. */
const BOXES: Readonly<Record<string, ReferenceBox>> = {
  "fill-box": "fill-box",
  "content-box": "fill-box",
  "padding-box": "fill-box",
  "stroke-box": "stroke-box",
  "border-box": "stroke-box",
  "margin-box": "stroke-box",
  "view-box": "view-box",
};

/** A shape or a box of CSS, as opposed to a reference to a clipPath. */
export const isClipShape = (value: string): boolean =>
  /\b(circle|ellipse|inset|polygon|path|rect|xywh|shape)\s*\(|\b(?:fill|stroke|view|content|padding|border|margin)-box\b/i.test(
    value,
  );

class Unread extends Error {}

/** A length: pixels, and a share of what a percentage is taken of. */
type Size = readonly [px: number, share: number];
const ZERO: Size = [0, 0];
const WHOLE: Size = [0, 1];
const HALF: Size = [0, 0.5];
const along = ([px, share]: Size, whole: number): number => px + share * whole;

interface Reading {
  readonly nodes: CssNode[];
  /** Whether plain numbers are lengths, as in attributes of SVG. */
  readonly bare: boolean;
}

const word = ({ nodes }: Reading): string | undefined =>
  nodes[0]?.type === "Identifier" ? nodes[0].name.toLowerCase() : undefined;

/** Takes the next node if it is this word. */
const taken = (reading: Reading, name: string): boolean => {
  if (word(reading) !== name) return false;
  reading.nodes.shift();
  return true;
};

const isComma = (node: CssNode | undefined): boolean => node?.type === "Operator" && node.value === ",";

const sizeIn = (reading: Reading): Size | undefined => {
  const [node] = reading.nodes;
  let size: Size | undefined;
  if (node?.type === "Percentage") size = [0, Number(node.value) / 100];
  else if (node?.type === "Number" && (reading.bare || Number(node.value) === 0)) size = [Number(node.value), 0];
  else if (node?.type === "Dimension" && Object.hasOwn(PX_PER, node.unit.toLowerCase()))
    size = [Number(node.value) * (PX_PER[node.unit.toLowerCase()] as number), 0];
  if (!size) return undefined;
  if (!size.every(Number.isFinite)) throw new Unread();
  reading.nodes.shift();
  return size;
};

const sizesIn = (reading: Reading, least: number, most: number): Size[] => {
  const sizes: Size[] = [];
  while (sizes.length < most) {
    const size = sizeIn(reading);
    if (!size) break;
    sizes.push(size);
  }
  if (sizes.length < least) throw new Unread();
  return sizes;
};

/** One to four values to the four sides or corners, as CSS fills them up. */
const four = ([a = ZERO, b = a, c = a, d = b]: readonly Size[]): readonly [Size, Size, Size, Size] => [a, b, c, d];

const SIDES: Readonly<Record<string, readonly ["x" | "y" | "both", number]>> = {
  left: ["x", 0],
  right: ["x", 1],
  top: ["y", 0],
  bottom: ["y", 1],
  center: ["both", 0.5],
};

/** `<position>` of CSS Values 4, 9: one, two or four words and lengths. */
const positionIn = (reading: Reading): readonly [Size, Size] => {
  const parts: (string | Size)[] = [];
  for (;;) {
    const name = word(reading);
    const part = name !== undefined && Object.hasOwn(SIDES, name) ? name : sizeIn(reading);
    if (part === undefined) break;
    if (typeof part === "string") reading.nodes.shift();
    parts.push(part);
  }
  const axisOf = (part: string | Size | undefined): string =>
    typeof part === "string" ? (SIDES[part]?.[0] ?? "both") : "both";
  const at = (part: string | Size | undefined): Size =>
    typeof part === "string" ? [0, SIDES[part]?.[1] ?? 0.5] : (part ?? HALF);
  if (parts.length === 4) {
    // Each word with how far from that side.
    const [side, from, other, away] = parts;
    const placed = (word: string | Size | undefined, size: string | Size | undefined): Size => {
      if (typeof word !== "string" || typeof size !== "object" || axisOf(word) === "both") throw new Unread();
      return SIDES[word]?.[1] === 0 ? size : [-size[0], 1 - size[1]];
    };
    const [first, second] = [placed(side, from), placed(other, away)];
    if (axisOf(side) === axisOf(other)) throw new Unread();
    return axisOf(side) === "x" ? [first, second] : [second, first];
  }
  const [a, b] = parts;
  if (a === undefined || parts.length > 2) throw new Unread();
  if (b === undefined) return axisOf(a) === "y" ? [HALF, at(a)] : [at(a), HALF];
  // Only words may come in either order.
  const swapped = typeof a === "string" && typeof b === "string" && (axisOf(a) === "y" || axisOf(b) === "x");
  const [x, y] = swapped ? [b, a] : [a, b];
  if (axisOf(x) === "y" || axisOf(y) === "x") throw new Unread();
  return [at(x), at(y)];
};

const NEAREST = (at: number, length: number): number => Math.min(Math.abs(at), Math.abs(length - at));
const FARTHEST = (at: number, length: number): number => Math.max(Math.abs(at), Math.abs(length - at));

type Radius = Size | typeof NEAREST;
const radiusIn = (reading: Reading): Radius | undefined => {
  if (taken(reading, "closest-side")) return NEAREST;
  if (taken(reading, "farthest-side")) return FARTHEST;
  const size = sizeIn(reading);
  if (size && size.some((part) => part < 0)) throw new Unread();
  return size;
};

const round = (reading: Reading, circle: boolean): ClipShape["outline"] => {
  const first = radiusIn(reading);
  const second = circle || !first ? first : radiusIn(reading);
  if (first && !second) throw new Unread();
  const [x, y] = taken(reading, "at") ? positionIn(reading) : [HALF, HALF];
  return (box) => {
    const [cx, cy] = [along(x, box.width), along(y, box.height)];
    const radius = (one: Radius | undefined, axis: "x" | "y"): number => {
      const sides = [
        [cx, box.width],
        [cy, box.height],
      ] as const;
      const pick = one === undefined ? NEAREST : one;
      if (typeof pick !== "function")
        return along(
          pick,
          circle ? Math.hypot(box.width, box.height) / Math.SQRT2 : axis === "x" ? box.width : box.height,
        );
      if (!circle) return pick(...sides[axis === "x" ? 0 : 1]);
      return (pick === NEAREST ? Math.min : Math.max)(...sides.map(([at, length]) => pick(at, length)));
    };
    return ellipsePath(box.x + cx, box.y + cy, radius(first, "x"), radius(second, "y")) ?? "";
  };
};

type Radii = readonly (readonly [across: Size, down: Size])[];

const cornersIn = (reading: Reading): Radii | undefined => {
  if (!taken(reading, "round")) return undefined;
  const across = four(sizesIn(reading, 1, 4));
  const slash = reading.nodes[0]?.type === "Operator" && reading.nodes[0].value === "/";
  if (slash) reading.nodes.shift();
  const down = slash ? four(sizesIn(reading, 1, 4)) : across;
  return across.map((one, i) => [one, down[i] as Size]);
};

/** A rectangle between four sides, its corners rounded; radii that meet are all made smaller alike (CSS Backgrounds 3, 4.5). */
const rectangle = (left: number, top: number, right: number, bottom: number, radii: Radii | undefined, box: Box) => {
  const [width, height] = [right - left, bottom - top];
  if (!(width > 0 && height > 0)) return "";
  if (!radii) return `M${left} ${top}H${right}V${bottom}H${left}Z`;
  const corners = radii.map(([a, b]) => [Math.max(0, along(a, box.width)), Math.max(0, along(b, box.height))] as const);
  const [tl, tr, br, bl] = corners as [
    (typeof corners)[0],
    (typeof corners)[0],
    (typeof corners)[0],
    (typeof corners)[0],
  ];
  const shrink = Math.min(
    1,
    width / (tl[0] + tr[0]),
    width / (bl[0] + br[0]),
    height / (tl[1] + bl[1]),
    height / (tr[1] + br[1]),
  );
  const arc = ([rx, ry]: readonly [number, number], x: number, y: number): string =>
    rx * shrink > 0 && ry * shrink > 0 ? `A${rx * shrink} ${ry * shrink} 0 0 1 ${x} ${y}` : `L${x} ${y}`;
  const round = (corner: readonly [number, number], axis: 0 | 1): number =>
    corner[0] > 0 && corner[1] > 0 ? corner[axis] * shrink : 0;
  return (
    `M${left + round(tl, 0)} ${top}L${right - round(tr, 0)} ${top}${arc(tr, right, top + round(tr, 1))}` +
    `L${right} ${bottom - round(br, 1)}${arc(br, right - round(br, 0), bottom)}` +
    `L${left + round(bl, 0)} ${bottom}${arc(bl, left, bottom - round(bl, 1))}` +
    `L${left} ${top + round(tl, 1)}${arc(tl, left + round(tl, 0), top)}Z`
  );
};

/** Distances at the upper, right, lower and left side of a box. */
const sidesAlong = (sides: readonly Size[], { width, height }: Box): [t: number, r: number, b: number, l: number] => {
  const [t, r, b, l] = sides.map((size, i) => along(size, i % 2 === 0 ? height : width));
  return [t as number, r as number, b as number, l as number];
};

const inset = (reading: Reading): ClipShape["outline"] => {
  const sides = four(sizesIn(reading, 1, 4));
  const radii = cornersIn(reading);
  return (box) => {
    const [t, r, b, l] = sidesAlong(sides, box);
    const { x, y, width, height } = box;
    return rectangle(x + l, y + t, x + width - r, y + height - b, radii, box);
  };
};

/** Four distances from the box's upper left corner; `auto` is the side of the box itself. */
const rect = (reading: Reading): ClipShape["outline"] => {
  const sides = [ZERO, WHOLE, WHOLE, ZERO].map((auto) =>
    taken(reading, "auto") ? auto : (sizesIn(reading, 1, 1)[0] ?? auto),
  );
  const radii = cornersIn(reading);
  return (box) => {
    const [t, r, b, l] = sidesAlong(sides, box);
    return rectangle(box.x + l, box.y + t, box.x + r, box.y + b, radii, box);
  };
};

const xywh = (reading: Reading): ClipShape["outline"] => {
  const [x, y, w, h] = sizesIn(reading, 4, 4) as [Size, Size, Size, Size];
  if ([w, h].some((size) => size.some((part) => part < 0))) throw new Unread();
  const radii = cornersIn(reading);
  return (box) => {
    const [left, top] = [box.x + along(x, box.width), box.y + along(y, box.height)];
    return rectangle(left, top, left + along(w, box.width), top + along(h, box.height), radii, box);
  };
};

/** A filling rule and its comma, before points or path data. */
const ruleIn = (reading: Reading): boolean => {
  const rule = word(reading);
  if (rule !== "evenodd" && rule !== "nonzero") return false;
  reading.nodes.shift();
  if (!isComma(reading.nodes.shift())) throw new Unread();
  return rule === "evenodd";
};

const polygon = (reading: Reading): ClipShape["outline"] => {
  const points: (readonly [Size, Size])[] = [];
  for (;;) {
    const [x, y] = sizesIn(reading, 2, 2) as [Size, Size];
    points.push([x, y]);
    if (reading.nodes.length === 0) break;
    if (!isComma(reading.nodes.shift())) throw new Unread();
  }
  return ({ x, y, width, height }) =>
    points.length < 3 ? "" : `M${points.map(([u, v]) => `${x + along(u, width)} ${y + along(v, height)}`).join("L")}Z`;
};

const path = (reading: Reading): ClipShape["outline"] => {
  const data = reading.nodes.shift();
  if (data?.type !== "String") throw new Unread();
  const read = svgpath(data.value);
  if ((read as unknown as { readonly err: string }).err) throw new Unread();
  return ({ x, y }) => svgpath(data.value).abs().translate(x, y).toString();
};

const SHAPES: Readonly<Record<string, (reading: Reading) => ClipShape["outline"]>> = {
  circle: (reading) => round(reading, true),
  ellipse: (reading) => round(reading, false),
  inset,
  rect,
  xywh,
  polygon,
  path,
};

/**
 * Reads a shape, a box, or both.
 *
 * @param bare whether plain numbers are lengths: so they are in an attribute, not in a style
 * @returns undefined where it is none that is read here
 */
export const readClipShape = (value: string, bare: boolean): ClipShape | undefined => {
  let box: ReferenceBox | undefined;
  let shape: Pick<ClipShape, "outline" | "evenOdd"> | undefined;
  try {
    const tree = parse(value, { context: "value" });
    for (const node of tree.type === "Value" ? tree.children.toArray() : []) {
      const named = node.type === "Identifier" ? BOXES[node.name.toLowerCase()] : undefined;
      if (named && !box) box = named;
      else if (node.type === "Function" && !shape && Object.hasOwn(SHAPES, node.name.toLowerCase())) {
        const name = node.name.toLowerCase();
        const reading: Reading = { nodes: node.children.toArray(), bare };
        const evenOdd = /^(polygon|path)$/.test(name) && ruleIn(reading);
        const outline = (SHAPES[name] as (typeof SHAPES)[string])(reading);
        if (reading.nodes.length > 0) return undefined;
        shape = { outline, evenOdd };
      } else return undefined;
    }
  } catch {
    return undefined;
  }
  if (!shape && !box) return undefined;
  const whole = ({ x, y, width, height }: Box): string =>
    rectangle(x, y, x + width, y + height, undefined, { x, y, width, height });
  return { box: box ?? "stroke-box", ...(shape ?? { outline: whole, evenOdd: false }) };
};
