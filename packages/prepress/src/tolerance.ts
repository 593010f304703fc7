import { toMm, type Um } from "@kitforme/geometry";
import type { BleedFound } from "./prepared.ts";

/** What a statement about register and cut is made from. Micrometres. */
export interface ToleranceRequest {
  /** How far the print may lie from where it should: the press's `register`. */
  readonly register: Um;
  /** How far a cut may land from where it should: the cutter's `tolerance`. */
  readonly cutter: Um;
  /** How much the paper may grow or shrink between print and cut, as a share of length; left out: not counted. */
  readonly stretch?: number;
  readonly pieces: readonly {
    readonly kit: string;
    readonly piece: string;
    /** The cut follows the front's print: the back's may lie off that by the register once more. */
    readonly side?: "back";
    /** Null: unprinted, no paper can show. */
    readonly bleed: BleedFound | null;
    /** Greatest distance of the piece from the middle of the marks, for `stretch`. */
    readonly away?: Um;
  }[];
}

/** Whether paper can show at the edge of one piece. Micrometres. */
export interface PieceTolerance {
  readonly kit: string;
  readonly piece: string;
  readonly side?: "back";
  /** Least bleed really there, the designer's and what was made. */
  readonly bleed: Um;
  /** All errors at their limit and in one direction, and the root of the sum of their squares: independent errors seldom
   * conspire (common practice, no source). */
  readonly worst: Um;
  readonly likely: Um;
  /** What is left of the bleed; negative: as much paper can show. */
  readonly spareWorst: Um;
  readonly spareLikely: Um;
  readonly paper: "never" | "worst" | "likely";
}

/** Whether paper may show or ink may be cut into, for all errors together. Micrometres. */
export interface ToleranceStatement {
  readonly register: Um;
  readonly cutter: Um;
  readonly stretch?: number;
  /** `never`: no displacement within the limits shows paper. `worst`: only if all errors add up. `likely`: expect it. */
  readonly paper: "never" | "worst" | "likely";
  /** Every printed piece once, the one with the least to spare first. */
  readonly pieces: readonly PieceTolerance[];
  /** One sentence for people. */
  readonly words: string;
}

const inMm = (um: Um): string => toMm(um).toFixed(2);

const judge = (
  request: ToleranceRequest,
  piece: ToleranceRequest["pieces"][number],
  bleed: BleedFound,
): PieceTolerance => {
  const stretch = (request.stretch ?? 0) * (piece.away ?? 0);
  const between = piece.side ? request.register : 0;
  const worst = Math.ceil(request.register + between + request.cutter + stretch);
  const likely = Math.ceil(Math.hypot(request.register, between, request.cutter, stretch));
  const { least } = bleed;
  return {
    kit: piece.kit,
    piece: piece.piece,
    ...(piece.side ? { side: piece.side } : {}),
    bleed: least,
    worst,
    likely,
    spareWorst: least - worst,
    spareLikely: least - likely,
    paper: least >= worst ? "never" : least >= likely ? "worst" : "likely",
  };
};

const sentence = (first: PieceTolerance | undefined): string => {
  if (!first) return "Nothing is printed on this sheet: no paper can show.";
  const { piece, kit, side, bleed, worst, likely } = first;
  const where = `at ${side ? "the back of " : ""}"${piece}" of "${kit}" (${inMm(bleed)} mm of bleed)`;
  if (first.paper === "never")
    return `No paper shows: print and cut may part by ${inMm(worst)} mm at worst (${inMm(likely)} mm as a root sum of squares), and the least bleed, ${where}, is not less.`;
  if (first.paper === "worst")
    return `Paper can show ${where} if all errors add up: print and cut may part by ${inMm(worst)} mm at worst, ${inMm(likely)} mm as a root sum of squares.`;
  return `Expect paper to show ${where}: print and cut may part by ${inMm(likely)} mm as a root sum of squares, ${inMm(worst)} mm at worst.`;
};

const SEVERITY = { likely: 0, worst: 1, never: 2 };

/** What a sheet's bleeds allow its press and cutter: whether paper can show, and at which piece first. */
export const statementOf = (request: ToleranceRequest): ToleranceStatement => {
  const least = new Map<string, PieceTolerance>();
  for (const piece of request.pieces) {
    if (!piece.bleed) continue;
    const now = judge(request, piece, piece.bleed);
    const key = JSON.stringify([piece.kit, piece.piece, piece.side]);
    const before = least.get(key);
    if (!before || now.spareWorst < before.spareWorst) least.set(key, now);
  }
  const name = (p: PieceTolerance): string => `${p.kit}\u0000${p.piece}\u0000${p.side ?? ""}`;
  const pieces = [...least.values()].sort(
    (a, b) =>
      SEVERITY[a.paper] - SEVERITY[b.paper] ||
      a.spareWorst - b.spareWorst ||
      (name(a) < name(b) ? -1 : name(a) > name(b) ? 1 : 0),
  );
  return {
    register: request.register,
    cutter: request.cutter,
    ...(request.stretch === undefined ? {} : { stretch: request.stretch }),
    paper: pieces[0]?.paper ?? "never",
    pieces,
    words: sentence(pieces[0]),
  };
};
