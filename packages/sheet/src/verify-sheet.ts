// Every rule that a finished sheet must keep, one after the other: none of them is used without the rest.
import type { Contour, Outline, Point, Rect } from "@kitforme/geometry";
import {
  area,
  bounds,
  containsPoint,
  containsRect,
  contourOf,
  distanceToContour,
  inset,
  JOINED_WITHIN,
  outlinesBounds,
  outlinesDistance,
  placeAll,
  placeOutlines,
  rectHas,
  ROUNDING,
  touches,
} from "@kitforme/geometry";
import { OPERATIONS } from "@kitforme/kit";
import type { Mark, Placed, Sheet, SheetLine } from "./sheet.ts";

/**
 * Proves a finished sheet valid from what stands on it, by other ways than those that made it. Throws an Error that names every
 * breach: each is a bug of ours, never a fault of the input.
 */
export const verifySheet = (sheet: Sheet): void => {
  const breaches = [
    ...marksApart(sheet),
    ...inksInReach(sheet),
    ...backInReach(sheet),
    ...cutsInReach(sheet),
    ...zonesFree(sheet),
    ...wasteApart(sheet),
    ...rigid(sheet),
    ...drawnLines(sheet),
    ...order(sheet),
  ];
  if (breaches.length > 0) throw new Error(`sheet ${sheet.sheet} of job ${sheet.job}: ${breaches.join("; ")}`);
};

const areaOf = (
  { width, height }: Sheet,
  margins: { top: number; right: number; bottom: number; left: number },
): Rect => ({
  x: margins.left,
  y: margins.bottom,
  width: width - margins.left - margins.right,
  height: height - margins.top - margins.bottom,
});

const markBox = ({ at, size }: Mark, more = 0): Rect => ({
  x: at.x - size / 2 - more,
  y: at.y - size / 2 - more,
  width: size + 2 * more,
  height: size + 2 * more,
});

/** Printed sheets: at least four marks, which neither a half turn nor a mirror brings onto themselves; unprinted ones: none. */
const marksApart = ({ stock, marks }: Sheet): string[] => {
  if (!stock.press) return marks.length > 0 ? ["marks on a sheet that is not printed"] : [];
  if (marks.length < 4) return [`only ${marks.length} marks`];
  const { x, y, width, height } = bounds(marks.map(({ at }) => at));
  const images: [string, (p: Point) => Point][] = [
    ["a half turn", (p) => ({ x: 2 * x + width - p.x, y: 2 * y + height - p.y })],
    ["a mirror from left to right", (p) => ({ x: 2 * x + width - p.x, y: p.y })],
    ["a mirror from top to bottom", (p) => ({ x: p.x, y: 2 * y + height - p.y })],
  ];
  const near = stock.cutter.marks.size + 2 * stock.cutter.marks.clear;
  return images
    .filter(([, image]) =>
      marks.every(({ at }) => marks.some((m) => Math.hypot(m.at.x - image(at).x, m.at.y - image(at).y) < near)),
    )
    .map(([what]) => `the marks look the same after ${what}`);
};

const dataBox = (outlines: string): Rect | null => {
  const numbers = outlines.match(/-?\d+(?:\.\d+)?/g)?.map(Number) ?? [];
  if (numbers.length === 0) return null;
  return bounds(
    Array.from({ length: numbers.length / 2 }, (_, i) => ({ x: numbers[2 * i] ?? 0, y: numbers[2 * i + 1] ?? 0 })),
  );
};

const reachesOf = (sheet: Sheet): { placed: Placed; reach: Outline[] }[] =>
  sheet.placed.map((placed) => ({ placed, reach: placeOutlines(placed.matrix, placed.prepared.reach) }));

const inksInReach = (sheet: Sheet): string[] => {
  const { press, cutter } = sheet.stock;
  if (!press) return sheet.inks.length > 0 ? ["ink on a sheet that is not printed"] : [];
  const printable = areaOf(sheet, press.margins);
  const reach = areaOf(sheet, cutter.margins);
  const boxes: [string, Rect | null, Rect][] = [
    ...sheet.marks.map((mark, i): [string, Rect, Rect] => [`mark ${i + 1}`, markBox(mark), printable]),
    ...sheet.marks.map((mark, i): [string, Rect, Rect] => [`mark ${i + 1} for the cutter`, markBox(mark), reach]),
    ...sheet.inks.map(({ outlines }, i): [string, Rect | null, Rect] => [`ink ${i + 1}`, dataBox(outlines), printable]),
    ...reachesOf(sheet).map(({ placed, reach: bleed }): [string, Rect, Rect] => [
      `the bleed of piece ${placed.number}`,
      outlinesBounds(bleed),
      printable,
    ]),
  ];
  return boxes
    .filter(([, box, limit]) => box && !containsRect(limit, box))
    .map(([what]) => `${what} lies out of reach`);
};

/**
 * The back, on its own page: what stands on it and the bleeds of its pieces lie where the press prints, and code, slug and
 * targets under no bleed; each point of the page is the image of one of the front, and none of two.
 */
const backInReach = (sheet: Sheet): string[] => {
  const { back, stock, width, height } = sheet;
  const backed = sheet.placed.filter(({ prepared }) => prepared.piece.back);
  if (!back) return backed.map(({ number }) => `the back of piece ${number} is printed nowhere`);
  if (!stock.press) return ["a back on a sheet that is not printed"];
  const [a, b, c, d, e, f] = back.matrix;
  const mirrored = b === 0 && c === 0 && a * d === -1 && e === (a < 0 ? width : 0) && f === (d < 0 ? height : 0);
  if (!mirrored) return ["the back is no mirror image of the front"];
  const over = ({ x, y, width: w, height: h }: Rect): Rect => ({
    x: a < 0 ? width - x - w : x,
    y: d < 0 ? height - y - h : y,
    width: w,
    height: h,
  });
  const printable = areaOf(sheet, stock.press.margins);
  const reaches = reachesOf(sheet);
  const inks = back.inks.flatMap(({ outlines }, i) => {
    const box = dataBox(outlines);
    return box ? [{ what: `ink ${i + 1} of the back`, box }] : [];
  });
  return [
    ...inks.filter(({ box }) => !containsRect(printable, box)).map(({ what }) => `${what} lies out of reach`),
    ...reaches
      .filter(({ placed }) => backed.includes(placed))
      .filter(({ reach }) => !containsRect(printable, over(outlinesBounds(reach))))
      .map(({ placed }) => `the bleed of the back of piece ${placed.number} lies out of reach`),
    ...reaches.flatMap(({ placed, reach }) =>
      inks
        .filter(({ box }) => overlapping(reach, over(box)))
        .map(({ what }) => `the bleed of piece ${placed.number} covers ${what}`),
    ),
  ];
};

const cutsInReach = (sheet: Sheet): string[] => {
  const reach = areaOf(sheet, sheet.stock.cutter.margins);
  const span = sheet.stock.press ? bounds(sheet.marks.map(({ at }) => at)) : reach;
  // Open lines and creases may end beyond the outline by as much as gaps are closed; there lies waste.
  const over = ({ operation, closed }: SheetLine): number => (closed && operation === "cutting" ? 0 : JOINED_WITHIN);
  return sheet.lines
    .filter((line) => !line.points.every((p) => [reach, span].every((box) => rectHas(inset(box, -over(line)), p))))
    .map(
      ({ operation, placed }) => `a ${operation} line of piece ${placed} runs out of the marks or the cutter's reach`,
    );
};

/** No bleed on the free zone of a mark, nor on code and slug. */
const zonesFree = (sheet: Sheet): string[] => {
  const { clear } = sheet.stock.cutter.marks;
  const zones: [string, Rect][] = [
    ...sheet.marks.map((mark, i): [string, Rect] => [`the free zone of mark ${i + 1}`, markBox(mark, clear)]),
    ...sheet.inks.flatMap(({ outlines }, i): [string, Rect][] => {
      const box = dataBox(outlines);
      return box ? [[`ink ${i + 1}`, box]] : [];
    }),
  ];
  return reachesOf(sheet).flatMap(({ placed, reach }) =>
    zones
      .filter(([, zone]) => overlapping(reach, zone))
      .map(([what]) => `the bleed of piece ${placed.number} covers ${what}`),
  );
};

/** What is printed in the waste for the press stands clear of marks with their blank, of code and slug, of each other and of every cut. */
const wasteApart = (sheet: Sheet): string[] => {
  const items = sheet.waste?.placed ?? [];
  if (items.length === 0) return [];
  const { clear } = sheet.stock.cutter.marks;
  const others: readonly (readonly [string, Rect])[] = [
    ...sheet.marks.map((mark, i) => [`the free zone of mark ${i + 1}`, markBox(mark, clear)] as const),
    ...sheet.inks.flatMap(({ outlines, item }, i) => {
      const box = item ? null : dataBox(outlines);
      return box ? [[`ink ${i + 1}`, box] as const] : [];
    }),
    ...items.map(({ item, box }) => [`the ${item}`, box] as const),
  ];
  return items.flatMap(({ item, box }) => [
    ...others
      .filter(([, other]) => other !== box && touches(box, other, -1))
      .map(([what]) => `the ${item} lies on ${what}`),
    ...sheet.paths
      .filter(({ points, closed }) =>
        points.some((a, i) => {
          const b = points[i + 1] ?? (closed ? points[0] : undefined);
          return b !== undefined && crosses(box, a, b);
        }),
      )
      .map(({ tool, placed }) => `a ${tool} of piece ${placed} runs through the ${item}`),
  ]);
};

/** Whether a straight way has a point in a rectangle (the part of it between each pair of sides must not be empty). */
const crosses = ({ x, y, width, height }: Rect, a: Point, b: Point): boolean => {
  let [from, to] = [0, 1];
  for (const [start, way, low, high] of [
    [a.x, b.x - a.x, x, x + width],
    [a.y, b.y - a.y, y, y + height],
  ] as const) {
    if (way === 0 && (start < low || start > high)) return false;
    if (way === 0) continue;
    const [t, u] = [(low - start) / way, (high - start) / way];
    from = Math.max(from, Math.min(t, u));
    to = Math.min(to, Math.max(t, u));
  }
  return from <= to;
};

/** Touching is no covering, nor is what rounding two places moves them. */
const overlapping = (reach: readonly Outline[], { x, y, width, height }: Rect): boolean => {
  const shrunk = { x: x + ROUNDING, y: y + ROUNDING, width: width - 2 * ROUNDING, height: height - 2 * ROUNDING };
  return outlinesDistance(reach, [{ outer: contourOf(shrunk), openings: [] }]) === 0;
};

/** A placement turns, flips y once and moves; it never scales. */
const rigid = ({ placed }: Sheet): string[] =>
  placed
    .filter(({ matrix: [a, b, c, d], turn }) => {
      const angle = (turn * Math.PI) / 180;
      const off = Math.hypot(a - Math.cos(angle), b - Math.sin(angle), c - Math.sin(angle), d + Math.cos(angle));
      return off > 1e-9;
    })
    .map(({ number }) => `piece ${number} is not placed by its turn alone`);

/** Every line of every piece is worked exactly once, through the drawing's own points, whichever of them it starts from. */
const drawnLines = (sheet: Sheet): string[] => {
  const wanted = new Map<string, number>();
  for (const { number, matrix, prepared } of sheet.placed)
    for (const { operation, closed, points } of prepared.piece.lines) {
      const key = keyOf({ operation, closed, points: placeAll(matrix, points), placed: number });
      wanted.set(key, (wanted.get(key) ?? 0) + 1);
    }
  const strangers: string[] = [];
  for (const line of sheet.lines) {
    const key = keyOf(line);
    const left = (wanted.get(key) ?? 0) - 1;
    if (left < 0) strangers.push(`a ${line.operation} line of piece ${line.placed} is not the drawing's`);
    else wanted.set(key, left);
  }
  const missing = [...wanted.values()].reduce((sum, n) => sum + n, 0);
  return missing > 0 ? [...strangers, `${missing} lines of the drawings are not worked`] : strangers;
};

/** The same text for the same line, wherever a ring starts and whichever way it is followed. */
const keyOf = ({ operation, closed, points, placed }: SheetLine): string => {
  const names = points.map(({ x, y }) => `${x} ${y}`);
  const ways = [names, names.toReversed()].flatMap((way) => {
    if (!closed) return [way.join(",")];
    const least = way.reduce((best, name) => (name < best ? name : best));
    return way.flatMap((name, i) => (name === least ? [[...way.slice(i), ...way.slice(0, i)].join(",")] : []));
  });
  return `${placed} ${operation} ${closed} ${ways.sort()[0]}`;
};

/** Creases, perforations, partial cuts, cuts; and nothing is cut inside a contour that is already cut out. */
const order = ({ lines }: Sheet): string[] => {
  const ranks = lines.map(({ operation }) => OPERATIONS.indexOf(operation));
  const breaches = ranks.some((rank, i) => rank < (ranks[i - 1] ?? 0)) ? ["operations are out of order"] : [];
  const boxes = lines.map(({ points }) => bounds(points));
  for (const [i, outer] of lines.entries()) {
    if (!outer.closed || outer.operation !== "cutting") continue;
    for (let j = i + 1; j < lines.length; j++) {
      const inner = lines[j] as SheetLine;
      if (!touches(boxes[i] as Rect, boxes[j] as Rect) || !insideOf(inner, outer.points)) continue;
      breaches.push(`a ${inner.operation} line of piece ${inner.placed} comes after the contour around it`);
    }
  }
  return breaches;
};

/** Farther in than two roundings move a point that lies on the ring. */
const insideOf = ({ points, closed }: SheetLine, ring: Contour): boolean =>
  (!closed || Math.abs(area(points)) < Math.abs(area(ring))) &&
  points.some((p, i) => {
    const q = points[i + 1] ?? (closed ? (points[0] as Point) : p);
    const middle = { x: Math.round((p.x + q.x) / 2), y: Math.round((p.y + q.y) / 2) };
    return [p, middle].some((at) => containsPoint(ring, at) > 0 && distanceToContour(at, ring) > 2 * ROUNDING);
  });
