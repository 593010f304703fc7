// Strokes as drawn to the lines a tool follows: ends joined, copies dropped, outlines with their openings found.
import {
  CLOSED_WITHIN,
  type Contour,
  joinEnds,
  JOINED_WITHIN,
  lengthOf,
  type Outline,
  outlinesOf,
  type Point,
  toMm,
} from "@kitforme/geometry";
import { doubledLines, LEAST, retraced } from "./doubled.ts";
import { type Line, OPERATIONS } from "./kit.ts";
import type { Ledger } from "./ledger.ts";
import { placeOf } from "./numbers.ts";
import type { Stroke } from "./svg/drawing.ts";

export interface Contours {
  readonly parts: readonly Outline<"drawing">[];
  /** By operation in working order, then as drawn; joined lines after those that were whole. */
  readonly lines: readonly Line[];
}

/** Every contour is held against every other: 5,000 take a second or two, 50,000 took two minutes. Lace has hundreds. */
const MOST_CONTOURS = 5_000;

/**
 * Corners of one cutting contour. 15,000 noisy ones grow within a quarter of a second; a spiral of as many, the worst
 * found, takes a second and a quarter. A cutter stutters long before: 20,000 corners on 2 m of line are 0.1 mm each.
 */
const MOST_CORNERS = 20_000;

/** Strokes of one operation with their ends joined. Creases stay as they are drawn: closing them would add a crease. */
const joined = (strokes: readonly Stroke[], operation: Stroke["operation"], report: Ledger): Line[] => {
  const own = strokes.filter((s) => s.operation === operation);
  if (operation === "creasing" || operation === "perforating") return own;
  const whole = own.filter((s) => s.closed);
  // Two copies of a slit, joined at both ends, would be a ring around nothing.
  const loose = withoutCopies(
    own.filter((s) => !s.closed),
    report,
    "copies alone",
  );
  const { paths, rings, bridges } = joinEnds(
    loose.map((s) => s.points),
    JOINED_WITHIN,
  );
  for (const { at, gap } of bridges)
    if (gap > CLOSED_WITHIN) report.say("contour-nearly-closed", { gap: toMm(gap) }, { operation, at: placeOf(at) });
  return [
    ...whole,
    ...rings.map((points): Line => ({ operation, closed: true, points })),
    ...paths.map((points): Line => ({ operation, closed: false, points })),
  ];
};

/** Open lines too short for `doubledLines` that are drawn again, point for point, either way: outlines come in strokes of 0.1 mm. */
const shortCopies = (lines: readonly Line[]): number[] => {
  const met = new Set<string>();
  return lines.flatMap(({ operation, closed, points }, i) => {
    if (closed || lengthOf(points) >= LEAST) return [];
    const names = points.map(({ x, y }) => `${x} ${y}`);
    const key = `${operation} ${[names, names.toReversed()].map((way) => way.join(",")).sort()[0]}`;
    if (met.has(key)) return [i];
    met.add(key);
    return [];
  });
};

const withoutCopies = (lines: readonly Line[], report: Ledger, which: "all" | "copies alone"): Line[] => {
  const dropped = new Set(shortCopies(lines));
  const [copy] = dropped;
  if (copy !== undefined) {
    const { operation, points } = lines[copy] as Line;
    const length = toMm([...dropped].reduce((sum, i) => sum + lengthOf((lines[i] as Line).points), 0));
    report.say(
      "line-doubled",
      { length, operations: [operation, operation], dropped: true },
      { operation, at: placeOf(points[0] as Point) },
    );
  }
  for (const { first, second, length, at, same } of doubledLines(lines)) {
    const [one, two] = [lines[first] as Line, lines[second] as Line];
    const drop = same && one.operation === two.operation;
    if (dropped.has(first) || dropped.has(second) || (which === "copies alone" && !drop)) continue;
    if (drop) dropped.add(second);
    report.say(
      "line-doubled",
      { length: toMm(length), operations: [one.operation, two.operation], dropped: drop },
      { operation: two.operation, at: placeOf(at) },
    );
  }
  for (const line of which === "all" ? lines : []) {
    const back = retraced(line);
    if (back)
      report.say(
        "line-retraced",
        { length: toMm(back.length), operation: line.operation },
        { operation: line.operation, at: placeOf(back.at) },
      );
  }
  return lines.filter((_, i) => !dropped.has(i));
};

/** Lines and outlines of a piece. The outlines of contours that cross are only a first guess: `checks` tells of the crossing. */
export const contoursOf = (strokes: readonly Stroke[], report: Ledger): Contours => {
  const closed = strokes.filter((s) => s.closed && s.operation === "cutting").length;
  if (closed > MOST_CONTOURS) {
    report.say("drawing-too-large", { what: "cutting contours", most: MOST_CONTOURS }, { operation: "cutting" });
    return { parts: [], lines: [] };
  }
  const endless = strokes.find((s) => s.operation === "cutting" && s.points.length > MOST_CORNERS)?.points[0];
  if (endless) {
    report.say(
      "drawing-too-large",
      { what: "corners of a cutting contour", most: MOST_CORNERS },
      { operation: "cutting", at: placeOf(endless) },
    );
    return { parts: [], lines: [] };
  }
  const lines = withoutCopies(
    OPERATIONS.flatMap((operation) => joined(strokes, operation, report)),
    report,
    "all",
  );
  const rings = lines.flatMap((l): Contour<"drawing">[] => (l.closed && l.operation === "cutting" ? [l.points] : []));
  return { parts: outlinesOf(rings), lines };
};
