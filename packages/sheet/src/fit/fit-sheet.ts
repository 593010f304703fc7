import type { Answer, Finding, Place as Where } from "@kitforme/kit";
import { say } from "../words.ts";
import { matchMarks } from "./match-marks.ts";
import { type Affine, affine, mapped, type Place, similarity } from "./solve.ts";

/** How the print's way from the plan is described: turn, scale and shift; any straight distortion; or piece by piece along the edges. */
export type FitModel = "similarity" | "affine" | "cells";

/** A sheet's plan brought onto the sheet as printed. Millimetres. */
export interface Fit {
  readonly model: FitModel;
  /** Where a place of the plan lies in the camera's frame. */
  readonly at: (place: Place) => Place;
  /** For each planned mark how far the seen one lies from where the model puts it. */
  readonly residuals: readonly number[];
  readonly worst: number;
  readonly turn: number;
  readonly scale: number;
  /** How far the middle of the marks moved. */
  readonly shift: readonly [x: number, y: number];
}

/** A sheet lies this straight when it lies right; degrees. */
const UPRIGHT = 10;
/** Paper and press change lengths by thousandths; 2 % is another unit, or another sheet. */
const MOST_STRETCH = 0.02;
/** Paper grows and shrinks more across its grain than along it, but by tenths of a per cent (common practice, no source). */
const MOST_DISTORTION = 1.008;
/** What a camera's reading and a mark's edge leave; above it the model is too simple. mm (common practice, no source). */
const GOOD = 0.15;
/** How far a mark may lie off the line between its neighbours along an edge, and off their line's end, before it is said (no source). mm */
const BENT = { between: 2 * GOOD, end: 3 * GOOD } as const;
/** What may remain before the reading is no reading of this sheet. mm (common practice, no source). */
const MOST = 1;

/**
 * Fits the plan of a sheet to the marks as a camera saw them: the simplest model that leaves no more than 0.15 mm at any mark.
 * A reading of a sheet that lies the wrong way, or of another sheet, is refused by name.
 *
 * @param marks as planned (`marks` of job.json), mm from the sheet's lower left corner
 * @param seen as read, mm in the camera's own frame, in any order
 */
export const fitSheet = (marks: readonly Place[], seen: readonly Place[], where: Where = {}): Answer<Fit> => {
  const refused = (finding: Finding): Answer<Fit> => ({ findings: [finding] });
  if (marks.length < 4) return refused(say("fit-no-marks", where, { marks: marks.length }));
  if (seen.length !== marks.length) return refused(say("fit-count", where, { seen: seen.length, marks: marks.length }));
  const match = matchMarks(marks, seen);
  if (!match || match.rms > 2 * MOST) return refused(say("fit-implausible", where, { rms: match?.rms ?? null }));
  const lies = lieOf(match.turn, match.mirrored);
  if (lies !== "upright") return refused(say(`fit-${lies}`, where, { turn: match.turn }));
  if (Math.abs(match.scale - 1) > MOST_STRETCH)
    return refused(say("fit-scale", where, { percent: (match.scale - 1) * 100 }));
  const to = match.seen.map((i) => seen[i] as Place);
  if (distortionOf(affine(marks, to)) > MOST_DISTORTION)
    return refused(say("fit-implausible", where, { rms: match.rms }));
  const tried = modelsFor(marks, to);
  const fit = tried.find(({ worst }) => worst <= GOOD) ?? tried.reduce((a, b) => (b.worst < a.worst ? b : a));
  if (fit.worst > MOST) return refused(say("fit-implausible", where, { rms: fit.worst }));
  const bends = fit.model === "cells" ? bendsOf(marks, to) : [];
  const astray = bends.find(({ strain }) => strain > MOST_DISTORTION - 1);
  if (astray) return refused(say("fit-mark-astray", where, astray));
  const bent = bends.find(({ off, most }) => off > most);
  const findings = [
    ...(fit.worst > GOOD ? [say("fit-loose", where, { worst: fit.worst, model: fit.model })] : []),
    ...(bent ? [say("fit-bent", where, bent)] : []),
  ];
  return { value: { ...fit, turn: match.turn, scale: match.scale, shift: shiftOf(marks, to) }, findings };
};

/** How the sheet lies by its turn, and by its turn after a mirror: Y mirrored and turned by a quarter is X and Y exchanged. */
const lieOf = (
  turn: number,
  mirrored: boolean,
): "upright" | "half-turned" | "quarter-turned" | "askew" | "mirrored" | "swapped" => {
  const near = (degrees: number): boolean => Math.abs(((turn - degrees + 540) % 360) - 180) <= UPRIGHT;
  if (mirrored) return near(90) || near(-90) ? "swapped" : "mirrored";
  if (near(0)) return "upright";
  if (near(180)) return "half-turned";
  return near(90) || near(-90) ? "quarter-turned" : "askew";
};

/** How much more the map stretches one way than any other: the ratio of its two singular values. */
const distortionOf = ({ a, b, c, d }: Affine): number => {
  const [sum, difference] = [Math.hypot(a + d, b - c), Math.hypot(a - d, b + c)];
  return (sum + difference) / Math.abs(sum - difference);
};

const shiftOf = (marks: readonly Place[], to: readonly Place[]): [number, number] => {
  const mean = (key: "x" | "y"): number =>
    to.reduce((sum, p, i) => sum + p[key] - (marks[i] as Place)[key], 0) / marks.length;
  return [mean("x"), mean("y")];
};

type Tried = Pick<Fit, "model" | "at" | "residuals" | "worst">;

/** The models that the marks allow, the simplest first. */
const modelsFor = (marks: readonly Place[], to: readonly Place[]): Tried[] => {
  const straight = affine(marks, to);
  const rails = railsOf(marks);
  const plain = similarity(marks, to);
  const models: [FitModel, Fit["at"]][] = [
    ["similarity", (p) => mapped(plain, p)],
    ["affine", (p) => mapped(straight, p)],
    ...(rails ? [["cells", cellsOf(marks, to, straight, rails)] as [FitModel, Fit["at"]]] : []),
  ];
  return models.map(([model, at]) => {
    const residuals = marks.map((mark, i) => {
      const p = at(mark);
      return Math.hypot(p.x - (to[i] as Place).x, p.y - (to[i] as Place).y);
    });
    return { model, at, residuals, worst: Math.max(...residuals) };
  });
};

/** Marks of one edge count as in line within this. mm */
const IN_LINE = 1;

type Axis = "x" | "y";
interface Rails {
  /** Along which axis the two edges run, and across which they lie apart. */
  readonly run: Axis;
  readonly across: Axis;
  /** Marks of either edge, by index, in the direction of the run. */
  readonly near: readonly number[];
  readonly far: readonly number[];
}

/** The marks along the left and the right edge, or the lower and the upper; none where an edge has only its two corners. */
const railsOf = (marks: readonly Place[]): Rails | undefined => {
  const edge = (run: Axis, across: Axis, side: number): number[] =>
    marks
      .flatMap((m, i) => (Math.abs(m[across] - side) <= IN_LINE ? [i] : []))
      .sort((a, b) => (marks[a] as Place)[run] - (marks[b] as Place)[run]);
  const found = (run: Axis, across: Axis): Rails[] => {
    const sides = marks.map((m) => m[across]);
    const [near, far] = [edge(run, across, Math.min(...sides)), edge(run, across, Math.max(...sides))];
    return near.length > 2 && far.length > 2 ? [{ run, across, near, far }] : [];
  };
  return [...found("y", "x"), ...found("x", "y")][0];
};

/** A mark of an edge beside its neighbours there. Millimetres. */
interface Bend {
  /** As planned. */
  readonly at: Place;
  /** How far it lies off the line through its two neighbours, and how far it may unsaid. */
  readonly off: number;
  readonly most: number;
  /** How much more the paper would have to be stretched or sheared on the way to a neighbour than anywhere else. */
  readonly strain: number;
}

/**
 * How the edges are bent, the worst first. A map from cell to cell follows every mark, a misread one too; paper bends over the
 * length of a sheet, and not at one mark.
 */
const bendsOf = (marks: readonly Place[], to: readonly Place[]): Bend[] => {
  const rails = railsOf(marks);
  if (!rails) return [];
  const { run, near, far } = rails;
  const rest = restsOf(marks, to, affine(marks, to));
  const bends = [near, far].flatMap((edge) =>
    edge.map((i, k): Bend => {
      const ends = k === 0 || k === edge.length - 1;
      const [p, q] = ends ? (k === 0 ? [1, 2] : [k - 1, k - 2]) : [k - 1, k + 1];
      const [a, b] = [edge[p] as number, edge[q] as number];
      const way = (from: number, until: number): number => (marks[until] as Place)[run] - (marks[from] as Place)[run];
      const onLine = between(rest[a] as Place, rest[b] as Place, way(a, i) / way(a, b));
      const apart = (u: Place, v: Place): number => Math.hypot(u.x - v.x, u.y - v.y);
      return {
        at: marks[i] as Place,
        off: apart(rest[i] as Place, onLine),
        most: ends ? BENT.end : BENT.between,
        strain: apart(rest[i] as Place, rest[a] as Place) / Math.abs(way(a, i)),
      };
    }),
  );
  return bends.sort((a, b) => b.off - a.off);
};

const between = (p: Place, q: Place, t: number): Place => ({ x: p.x + t * (q.x - p.x), y: p.y + t * (q.y - p.y) });

/** What a straight map leaves at each mark. */
const restsOf = (marks: readonly Place[], to: readonly Place[], straight: Affine): Place[] =>
  marks.map((mark, i) => {
    const p = mapped(straight, mark);
    return { x: (to[i] as Place).x - p.x, y: (to[i] as Place).y - p.y };
  });

/** What the straight map leaves at the marks of each edge is shared out: along an edge between two marks, across from edge to edge. */
const cellsOf = (
  marks: readonly Place[],
  to: readonly Place[],
  straight: Affine,
  { run, across, near, far }: Rails,
): Fit["at"] => {
  const rest = restsOf(marks, to, straight);
  const onEdge = (edge: readonly number[], way: number): Place => {
    const above = edge.findIndex((i) => (marks[i] as Place)[run] >= way);
    const k = above === -1 ? edge.length - 1 : Math.max(1, above);
    const [i, j] = [edge[k - 1] as number, edge[k] as number];
    const [low, high] = [(marks[i] as Place)[run], (marks[j] as Place)[run]];
    return between(rest[i] as Place, rest[j] as Place, (way - low) / (high - low));
  };
  const [from, until] = [(marks[near[0] as number] as Place)[across], (marks[far[0] as number] as Place)[across]];
  return (place) => {
    const p = mapped(straight, place);
    const more = between(onEdge(near, place[run]), onEdge(far, place[run]), (place[across] - from) / (until - from));
    return { x: p.x + more.x, y: p.y + more.y };
  };
};
