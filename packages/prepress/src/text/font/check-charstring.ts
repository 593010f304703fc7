import { viewOf } from "./bytes.ts";
import type { Cff } from "./read-cff.ts";

/** Limits of Adobe Technical Note 5177 (Type 2 charstrings), appendix B. */
const MOST_OPERANDS = 48;
const DEEPEST = 10;
/** Steps after which a charstring is given up: subroutines that call one another branch without end. */
const MOST_STEPS = 200_000;

/** How many operands an operator that draws may have, after a width that the first one may carry. */
const TAKES: Readonly<Record<number, (operands: number) => boolean>> = {
  5: (n) => n >= 2 && n % 2 === 0, // rlineto
  6: (n) => n >= 1, // hlineto
  7: (n) => n >= 1, // vlineto
  8: (n) => n >= 6 && n % 6 === 0, // rrcurveto
  24: (n) => n >= 8 && n % 6 === 2, // rcurveline
  25: (n) => n >= 8 && n % 2 === 0, // rlinecurve
  26: (n) => n >= 4 && n % 4 <= 1, // vvcurveto
  27: (n) => n >= 4 && n % 4 <= 1, // hhcurveto
  30: (n) => n >= 4 && n % 8 !== 2 && n % 8 !== 3 && n % 8 !== 6 && n % 8 !== 7, // vhcurveto
  31: (n) => n >= 4 && n % 8 !== 2 && n % 8 !== 3 && n % 8 !== 6 && n % 8 !== 7, // hvcurveto
};
/** Moves: their operands, and one more where the width comes first. */
const MOVES: Readonly<Record<number, number>> = { 4: 1, 21: 2, 22: 1 };
/** Flexes, two-byte operators. */
const FLEXES: Readonly<Record<number, number>> = { 34: 7, 35: 13, 36: 9, 37: 11 };

interface Walk {
  readonly font: Cff;
  readonly local: readonly Uint8Array[];
  operands: number[];
  hints: number;
  moved: boolean;
  steps: number;
}

/** What a charstring came to: its end, the end of a subroutine, something we do not judge, or a contradiction. */
type End = "end" | "return" | "unjudged" | "broken";

const bias = (subrs: readonly unknown[]): number => (subrs.length < 1240 ? 107 : subrs.length < 33_900 ? 1131 : 32_768);

/**
 * Why a CFF glyph cannot be drawn as its designer drew it; `null` when it can. Goes through the charstring as a renderer
 * does, without drawing: every operator known and with operands it can take, every subroutine there, and an end.
 */
export const checkCharstring = (font: Cff, glyph: number): string | null => {
  const bytes = font.charstrings[glyph];
  if (!bytes) return `glyph ${glyph} is beyond its ${font.charstrings.length} glyphs`;
  const walk: Walk = { font, local: font.localOf(glyph), operands: [], hints: 0, moved: false, steps: 0 };
  try {
    const end = through(bytes, walk, 0);
    return end === "end" || end === "unjudged" ? null : `the outline of glyph ${glyph} is damaged`;
  } catch (error) {
    if (error instanceof RangeError) return `the outline of glyph ${glyph} is cut short`;
    throw error;
  }
};

const through = (bytes: Uint8Array, walk: Walk, depth: number): End => {
  if (depth > DEEPEST) return "broken";
  const view = viewOf(bytes);
  const { operands } = walk;
  for (let at = 0; at < bytes.length; ) {
    if (walk.steps++ > MOST_STEPS) return "broken";
    const b = view.getUint8(at++);
    if (b === 28 || b >= 32) {
      if (b === 28) operands.push(view.getInt16(at));
      else if (b <= 246) operands.push(b - 139);
      else if (b <= 250) operands.push((b - 247) * 256 + view.getUint8(at) + 108);
      else if (b <= 254) operands.push(-(b - 251) * 256 - view.getUint8(at) - 108);
      else operands.push(view.getInt32(at) / 65_536);
      at += b === 28 ? 2 : b <= 246 ? 0 : b <= 254 ? 1 : 4;
      if (operands.length > MOST_OPERANDS) return "broken";
      continue;
    }
    switch (b) {
      case 1:
      case 3:
      case 18:
      case 23:
      case 19:
      case 20:
        walk.hints += operands.length >> 1;
        operands.length = 0;
        if (b === 19 || b === 20) at += (walk.hints + 7) >> 3;
        if (at > bytes.length) return "broken";
        break;
      case 10:
      case 29: {
        const subrs = b === 10 ? walk.local : walk.font.global;
        const called = subrs[(operands.pop() ?? Number.NaN) + bias(subrs)];
        if (!called) return "broken";
        const end = through(called, walk, depth + 1);
        if (end !== "return") return end;
        break;
      }
      case 11:
        return depth > 0 ? "return" : "broken";
      case 14:
        return operands.length === 0 || operands.length === 1 || operands.length === 4 || operands.length === 5
          ? "end"
          : "broken";
      case 12: {
        const flex = FLEXES[view.getUint8(at++)];
        // Arithmetic is not used by today's programs; we do not count along.
        if (flex === undefined) return "unjudged";
        if (!walk.moved || operands.length !== flex) return "broken";
        operands.length = 0;
        break;
      }
      default: {
        const move = MOVES[b];
        const takes = TAKES[b];
        if (move !== undefined) {
          if (operands.length < move || operands.length > move + (walk.moved ? 0 : 1)) return "broken";
          walk.moved = true;
        } else if (!takes?.(operands.length) || !walk.moved) return "broken";
        operands.length = 0;
      }
    }
  }
  // Subroutines end with return, charstrings with endchar; some programs leave out the return at the end.
  return depth > 0 ? "return" : "broken";
};
