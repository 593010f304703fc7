import { mm, toMm, type Um } from "@kitforme/geometry";
import type { Line } from "../../kit.ts";
import { placeOf } from "../../numbers.ts";
import { pathOf } from "../check.ts";
import type { FitCheck } from "./fit-check.ts";

/**
 * A crease presses a channel as wide as one and a half calipers and the rule, 2 pt thick (several makers' tables agree, 1.5 c + d).
 * Two channels, and a channel and a cut, need paper between them: twice the channel from crease to crease, ten calipers but
 * no more than 3 mm from crease to cut. Common practice, no source.
 */
const RULE = mm(0.71);
const channel = (caliper: Um): Um => 1.5 * caliper + RULE;
const fromCrease = (caliper: Um): Um => 2 * channel(caliper);
const fromCut = (caliper: Um): Um => Math.min(mm(3), 10 * caliper);

/** Lines this near are one line (`line-doubled`), and stretches as short as this are corners where lines meet. */
const ONE_LINE = 50;
const SHORT = mm(2);
/** Sine of 3 degrees: lines that spread farther meet in a point, as the creases of a fan or a tapered flap do. */
const PARALLEL = 0.052;

/** Creases beside each other or beside a cut, nearer than the stock's caliper allows. Without a caliper nothing is known. */
export const creaseNear: FitCheck = (piece, { caliper }, report) => {
  if (caliper === undefined) return;
  const creases = piece.lines.filter((line) => line.operation === "creasing");
  const cuts = piece.lines.filter((line) => line.operation === "cutting");
  for (const [i, crease] of creases.entries()) {
    const others = [
      ...creases.slice(i + 1).map((line) => ({ line, least: fromCrease(caliper) })),
      ...cuts.map((line) => ({ line, least: fromCut(caliper) })),
    ];
    for (const { line, least } of others) {
      const met = besides(crease, line, least);
      if (met)
        report.say(
          "crease-near",
          { other: line.operation, apart: toMm(met.apart), least: toMm(least), caliper: toMm(caliper) },
          { operation: "creasing", at: placeOf(met.at) },
        );
    }
  }
};

type Spot = Line["points"][number];

interface Edge {
  readonly a: Spot;
  readonly b: Spot;
  readonly length: number;
}

const edgesIn = (line: Line): Edge[] => {
  const path = pathOf(line);
  return path.flatMap((a, i): Edge[] => {
    const b = path[i + 1];
    const length = b ? Math.hypot(b.x - a.x, b.y - a.y) : 0;
    return b && length > 0 ? [{ a, b, length }] : [];
  });
};

/** Where two lines run beside each other, nearer than `least`, for longer than a corner; the nearest such place. */
const besides = (crease: Line, other: Line, least: Um): { apart: Um; at: Spot } | undefined => {
  let [length, apart, at]: [number, number, Spot | undefined] = [0, Infinity, undefined];
  const theirs = edgesIn(other);
  for (const mine of edgesIn(crease)) {
    const [ux, uy] = [(mine.b.x - mine.a.x) / mine.length, (mine.b.y - mine.a.y) / mine.length];
    for (const { a, b, length: long } of theirs) {
      const slant = Math.abs((b.x - a.x) * uy - (b.y - a.y) * ux) / long;
      if (slant > PARALLEL) continue;
      const along = (p: Spot): number => (p.x - mine.a.x) * ux + (p.y - mine.a.y) * uy;
      const from = Math.max(0, Math.min(along(a), along(b)));
      const to = Math.min(mine.length, Math.max(along(a), along(b)));
      if (to <= from) continue;
      const aside = (p: Spot): number => (p.x - mine.a.x) * uy - (p.y - mine.a.y) * ux;
      const asideAt = (s: number): number =>
        aside(a) + ((s - along(a)) / (along(b) - along(a) || 1)) * (aside(b) - aside(a));
      const near = Math.min(Math.abs(asideAt(from)), Math.abs(asideAt(to)));
      if (near >= least - 1 || near <= ONE_LINE) continue;
      length += to - from;
      if (near < apart) {
        apart = near;
        at = { x: Math.round(mine.a.x + from * ux), y: Math.round(mine.a.y + from * uy) };
      }
    }
  }
  return at && length >= SHORT ? { apart, at } : undefined;
};
