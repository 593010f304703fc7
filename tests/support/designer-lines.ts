// The designer's own lines, read by another hand: resvg (npm @resvg/resvg-js) resolves shapes, nesting, transforms and styles
// of an SVG to M L Q C Z; here they are only sampled. Millimetres.
import { Resvg } from "@resvg/resvg-js";

export type Dot = readonly [x: number, y: number];
export interface Ring {
  readonly group: string;
  readonly closed: boolean;
  readonly dots: readonly Dot[];
}

/** Curves are sampled into so many chords: a quarter circle of 100 mm is then off by 0.01 um. */
const CHORDS = 128;

/** All paths of an SVG with the id of the group they stand in, in millimetres of the drawing. */
export const ringsOfSvg = (svg: string): Ring[] => {
  const normal = new Resvg(svg, { font: { loadSystemFonts: false } }).toString();
  const [, width, , , view] = /<svg width="([\d.]+)" height="([\d.]+)" viewBox="([\d.-]+) [\d.-]+ ([\d.]+)/.exec(
    normal,
  ) as string[];
  const scale = (Number(width) * 25.4) / 96 / Number(view);
  const rings: Ring[] = [];
  const groups: string[] = [];
  for (const [tag, close, name, attributes] of normal.matchAll(/<(\/?)(g|path)\b([^>]*?)\/?>/g)) {
    if (name === "g") {
      if (close) groups.pop();
      // The normal form keeps transforms of groups; the lines asked for here stand under none, pictures may.
      else if (/transform=/.test(tag)) groups.push("transformed");
      else groups.push(/ id="([^"]*)"/.exec(attributes as string)?.[1] ?? groups.at(-1) ?? "");
    } else if (!tag.startsWith("</")) {
      if (groups.includes("transformed")) continue;
      if (/transform=/.test(attributes as string)) throw new Error("a transform was left in the normal form");
      const path = / d="([^"]*)"/.exec(attributes as string)?.[1] ?? "";
      for (const ring of sampled(path))
        rings.push({ ...ring, group: groups.at(-1) ?? "", dots: ring.dots.map(([x, y]) => [x * scale, y * scale]) });
    }
  }
  return rings;
};

const sampled = (path: string): { closed: boolean; dots: Dot[] }[] => {
  const found: { closed: boolean; dots: Dot[] }[] = [];
  for (const [, letter, rest] of path.matchAll(/([MLQCZ])([^MLQCZ]*)/g)) {
    const n = (rest as string)
      .trim()
      .split(/[\s,]+/)
      .filter(Boolean)
      .map(Number);
    if (letter === "M") {
      found.push({ closed: false, dots: [[n[0] as number, n[1] as number]] });
      continue;
    }
    const ring = found.at(-1) as { closed: boolean; dots: Dot[] };
    if (letter === "Z") ring.closed = true;
    else {
      const hull: Dot[] = [ring.dots.at(-1) as Dot];
      for (let i = 0; i < n.length; i += 2) hull.push([n[i] as number, n[i + 1] as number]);
      for (let k = 1, of = letter === "L" ? 1 : CHORDS; k <= of; k++) ring.dots.push(bezier(hull, k / of));
    }
  }
  return found;
};

/** De Casteljau. */
const bezier = (hull: readonly Dot[], t: number): Dot =>
  hull.length === 1
    ? (hull[0] as Dot)
    : bezier(
        hull
          .slice(1)
          .map(([x, y], i) => [(hull[i] as Dot)[0] * (1 - t) + x * t, (hull[i] as Dot)[1] * (1 - t) + y * t]),
        t,
      );

const toSegment = ([px, py]: Dot, [ax, ay]: Dot, [bx, by]: Dot): number => {
  const [dx, dy] = [bx - ax, by - ay];
  const length = dx * dx + dy * dy;
  const t = length === 0 ? 0 : Math.max(0, Math.min(1, ((px - ax) * dx + (py - ay) * dy) / length));
  return Math.hypot(px - ax - t * dx, py - ay - t * dy);
};

/** Segments of a line in a row, with the box they lie in: what is farther off than the nearest so far need not be looked at. */
interface Stretch {
  readonly from: number;
  readonly to: number;
  readonly box: readonly [left: number, bottom: number, right: number, top: number];
}

const STRETCH = 32;

const stretchesOf = (line: readonly Dot[], closed: boolean): Stretch[] => {
  const stretches: Stretch[] = [];
  for (let from = closed ? 0 : 1; from < line.length; from += STRETCH) {
    const to = Math.min(from + STRETCH, line.length);
    const dots = [line.at(from - 1) as Dot, ...line.slice(from, to)];
    const [xs, ys] = [dots.map(([x]) => x), dots.map(([, y]) => y)];
    stretches.push({ from, to, box: [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)] });
  }
  return stretches;
};

/** The farthest that a vertex of one line lies from the other. */
const farthest = (dots: readonly Dot[], line: readonly Dot[], closed: boolean): number => {
  const stretches = stretchesOf(line, closed);
  let [most, near] = [0, 0];
  for (const dot of dots) {
    let least = Infinity;
    const look = (n: number): void => {
      const { from, to, box } = stretches[n] as Stretch;
      if (
        Math.hypot(Math.max(box[0] - dot[0], 0, dot[0] - box[2]), Math.max(box[1] - dot[1], 0, dot[1] - box[3])) >=
        least
      )
        return;
      for (let i = from; i < to; i++) {
        const gap = toSegment(dot, line.at(i - 1) as Dot, line[i] as Dot);
        if (gap < least) [least, near] = [gap, n];
      }
    };
    // Where the vertex before it was nearest, the next one mostly is too.
    if (stretches.length > 0) look(near);
    for (let n = 0; n < stretches.length; n++) look(n);
    most = Math.max(most, least);
  }
  return most;
};

/** Distance of two lines by Hausdorff, from their vertices (the designer's are dense). */
export const apart = (a: readonly Dot[], b: readonly Dot[], closed: boolean): number =>
  Math.max(farthest(a, b, closed), farthest(b, a, closed));
