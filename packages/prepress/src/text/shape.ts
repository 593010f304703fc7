import * as hb from "harfbuzzjs";
import type { Bounds, Command } from "./outline.ts";
import { glyphOutline } from "./outline.ts";
import { kern } from "./kern.ts";
import { placeMarks } from "./place-marks.ts";
import type { Run } from "./segment.ts";
import type { ShapedGlyph } from "./shaped-glyph.ts";
import type { Typeface } from "./typeface.ts";

/** A glyph at its place on the line, origin at the pen's start on the baseline, y up. Shares of the type size (em). */
export interface PlacedGlyph {
  readonly face: Typeface;
  readonly glyph: number;
  readonly x: number;
  readonly y: number;
}

/** A line shaped once: everything in it grows with the type size, so one shaping serves every size. Em. */
export interface ShapedLine {
  readonly glyphs: readonly PlacedGlyph[];
  /** How far the pen went. */
  readonly advance: number;
  /** Bounds of the ink, y up; `null` for a line of spaces. */
  readonly ink: Bounds | null;
  /** UTF-16 offsets of what came out as the font's sign for a missing glyph. */
  readonly undrawn: readonly number[];
  /** Share of its height that the line is drawn with, of kitforme's own words; left out, 1. */
  readonly squeeze?: number;
  /** Clusters whose glyphs the font cannot draw as they were designed. */
  readonly damaged: readonly { readonly face: Typeface; readonly cluster: string; readonly why: string }[];
}

// One buffer for all: fresh ones made the wasm heap grow without end (measured 152 MB against 65 MB over 100,000 names).
const buffer = new hb.Buffer();

/**
 * Shapes one run of a line, glyphs from left to right.
 *
 * @param circles marks without a letter get a dotted circle to stand on, as in a textbook: printed, it would be what nobody wrote
 */
export const shapeRun = (
  text: string,
  { face, start, end, level, language }: Run,
  circles = false,
): readonly ShapedGlyph[] => {
  buffer.clearContents();
  // The whole text is handed over with the run's part of it, so that Arabic letters join across a change of font.
  buffer.addText(text, start, end - start);
  buffer.guessSegmentProperties();
  buffer.setDirection(level % 2 === 1 ? hb.Direction.RTL : hb.Direction.LTR);
  // Else the language of the machine would choose among a font's local letterforms.
  buffer.setLanguage(language ?? "und");
  buffer.setFlags(circles ? hb.BufferFlag.DEFAULT : hb.BufferFlag.DO_NOT_INSERT_DOTTED_CIRCLE);
  hb.shape(face.font as hb.Font, buffer);
  const positions = buffer.getGlyphPositions();
  const shaped = buffer.getGlyphInfos().map(({ codepoint, cluster }, i): ShapedGlyph => {
    const at = positions[i];
    if (!at) throw new Error("shaping gave a glyph without a position");
    const { xOffset, yOffset, xAdvance } = at;
    return { glyph: codepoint, cluster, xOffset, yOffset, xAdvance };
  });
  const kerned = face.kerning ? kern(text, end, face, shaped) : shaped;
  return placeMarks(text, { face, start, end, level }, kerned);
};

/** Shapes the runs of a line (kerning, ligatures, joining, marks) and sets them one after another from left to right. */
export const shapeLine = (text: string, runs: readonly Run[]): ShapedLine => {
  const glyphs: PlacedGlyph[] = [];
  const undrawn: number[] = [];
  const damaged: ShapedLine["damaged"][number][] = [];
  let pen = 0;
  for (const run of runs) {
    const { face } = run;
    const shaped = shapeRun(text, run);
    damaged.push(...damagedIn(text, run.end, face, shaped));
    const em = face.unitsPerEm;
    for (const { glyph, cluster, xOffset, yOffset, xAdvance } of shaped) {
      if (glyph === 0) undrawn.push(cluster);
      glyphs.push({ face, glyph, x: pen + xOffset / em, y: yOffset / em });
      pen += xAdvance / em;
    }
  }
  return { glyphs, advance: pen, ink: inkOf(glyphs), undrawn, damaged };
};

/** Characters that leave no ink when all is well. */
const BLANK = /[\p{Z}\p{Cc}\p{Default_Ignorable_Code_Point}\u2800]/u;

/** The clusters of a shaped run (up to `end`) that lack what their characters need. */
const damagedIn = (
  text: string,
  end: number,
  face: Typeface,
  infos: readonly ShapedGlyph[],
): ShapedLine["damaged"][number][] => {
  const clusters = new Map<number, number[]>();
  for (const { cluster, glyph } of infos) clusters.set(cluster, [...(clusters.get(cluster) ?? []), glyph]);
  const starts = [...clusters.keys()].sort((a, b) => a - b);
  return starts.flatMap((start, i) => {
    const cluster = text.slice(start, starts[i + 1] ?? end);
    const inked = Array.from(cluster).filter((c) => !BLANK.test(c));
    const glyphs = clusters.get(start) as number[];
    // Glyph 0 is reported as a missing character.
    if (inked.length === 0 || glyphs.includes(0)) return [];
    const why = whyDamaged(inked, glyphs, face);
    return why === null ? [] : [{ face, cluster, why }];
  });
};

const whyDamaged = (inked: readonly string[], glyphs: readonly number[], face: Typeface): string | null => {
  // Fonts build tones and signs of helpers without ink; only of a character's own glyph do we know what it must show.
  const own = new Set(inked.map((c) => face.font.nominalGlyph(c.codePointAt(0) as number)));
  for (const glyph of glyphs) {
    const fault = face.faultOf(glyph);
    if (fault && (!fault.hollow || own.has(glyph))) return fault.why;
    if (own.has(glyph) && !glyphOutline(face, glyph).bounds) return `glyph ${glyph} is empty`;
  }
  const blank = glyphs.every((glyph) => !glyphOutline(face, glyph).bounds);
  return blank ? `glyph ${glyphs[0]} is empty` : null;
};

const inkOf = (glyphs: readonly PlacedGlyph[]): Bounds | null => {
  let ink: Bounds | null = null;
  for (const { face, glyph, x, y } of glyphs) {
    const box = glyphOutline(face, glyph).bounds;
    if (!box) continue;
    const em = face.unitsPerEm;
    const [left, right] = [x + box.left / em, x + box.right / em];
    const [bottom, top] = [y + box.bottom / em, y + box.top / em];
    ink = ink
      ? {
          left: Math.min(ink.left, left),
          right: Math.max(ink.right, right),
          bottom: Math.min(ink.bottom, bottom),
          top: Math.max(ink.top, top),
        }
      : { left, right, bottom, top };
  }
  return ink;
};

/** A line's outlines at its place: `scale` micrometres to the em, origin at (x, y); `up` is 1 where y points up, -1 where down. */
export const placeLine = (line: ShapedLine, scale: number, x: number, y: number, up: 1 | -1): Command[] =>
  line.glyphs.flatMap(({ face, glyph, x: gx, y: gy }) => {
    const unit = scale / face.unitsPerEm;
    const tall = up * (line.squeeze ?? 1);
    const [ox, oy] = [x + gx * scale, y + tall * gy * scale];
    return glyphOutline(face, glyph).commands.map(({ type, values }) => ({
      type,
      values: values.map((v, i) => (i % 2 === 0 ? ox + v * unit : oy + tall * v * unit)),
    }));
  });
