import { fromPoints, toMm } from "@kitforme/geometry";
import type { Finding, Piece, Slot } from "@kitforme/kit";
import type { Ink, Prepared, SetText } from "../prepared.ts";
import { bundledTypeface } from "./bundled.ts";
import { cleanText } from "./clean.ts";
import type { PlacedText } from "./clear-of-lines.ts";
import { clearOfLines } from "./clear-of-lines.ts";
import type { Needs } from "./fit.ts";
import { fitSize, needsOf } from "./fit.ts";
import { pathData } from "./outline.ts";
import { readTypefaces } from "./read-typefaces.ts";
import { segment } from "./segment.ts";
import type { ShapedLine } from "./shape.ts";
import { shapeLine } from "./shape.ts";
import type { Typeface } from "./typeface.ts";
import { type Say, sayAt } from "./words.ts";

/**
 * Sets a text into its slot: NFC, bidi (UAX 9), fonts by coverage, shaping, fit, and draws it as outlines; no font is ever
 * embedded. Lengths of the result in micrometres of the drawing, y down.
 *
 * Rules: text-damaged, text-cleaned, font-unreadable, font-colour, font-forbids-embedding, font-permission-unknown,
 * font-variable, glyph-missing, glyph-fallback, text-too-long, text-too-high, text-near-line, text-off-piece.
 * There is no value with an error among the findings, nor for an empty text, which is no fault.
 */
export const setText = async (slot: Slot, text: string, piece: Piece, ink: Ink): Promise<Prepared<SetText>> => {
  const say = sayAt({ kit: piece.kit, piece: piece.piece, slot: slot.slot });
  const clean = cleanText(text);
  const findings: Finding[] = [...cleaningFindings(clean, say)];
  if (clean.damaged.length > 0 || clean.text === "") return { findings };

  const fonts = await readTypefaces(slot, say);
  findings.push(...fonts.findings);
  if (!fonts.value) return { findings };
  const faces = [...fonts.value, bundledTypeface()];
  const shaped = shapeWith(faces, clean.text, say);
  findings.push(...shaped.findings);
  if (!shaped.value) return { findings };

  const needs = needsOf(shaped.value, faces[0] as Typeface);
  const fitting = fitSize(needs, slot);
  if (fitting === null) return { findings: [...findings, ...tooLarge(needs, slot, clean.text, say)] };
  const placed = clearOfLines(shaped.value, needs, slot, piece, fitting);
  if (placed.fault) return { findings: [...findings, misplaced(placed, slot, clean.text, say)] };
  const { size, commands, box } = placed;
  return { value: { slot: slot.slot, text: clean.text, size, ink, outlines: pathData(commands), box }, findings };
};

const cleaningFindings = ({ text, removed, damaged }: ReturnType<typeof cleanText>, say: Say): Finding[] =>
  damaged.length > 0
    ? [say("text-damaged", { text, damaged })]
    : removed.length > 0
      ? [say("text-cleaned", { text, removed })]
      : [];

const shapeWith = (faces: readonly Typeface[], text: string, say: Say): Prepared<ShapedLine> => {
  const { runs, missing, fallbacks } = segment(text, faces);
  const line = shapeLine(text, runs);
  const undrawn = line.undrawn.map((at) => String.fromCodePoint(text.codePointAt(at) as number));
  const lacking = [...new Set([...missing, ...undrawn])];
  const faults = [
    ...(lacking.length > 0 ? [say("glyph-missing", { text, lacking, tried: faces.map((face) => face.file) })] : []),
    ...line.damaged.map(({ face, cluster, why }) => say("glyph-damaged", { file: face.file, text, cluster, why })),
  ];
  if (faults.length > 0) return { findings: faults };
  // A second font of the slot is the designer's own choice; only the bundled one comes unasked.
  const unasked = fallbacks.filter(({ face }) => face === bundledTypeface());
  const findings = unasked.map(({ face, clusters }) =>
    say("glyph-fallback", { lead: faces[0]?.file ?? "", file: face.file, text, clusters }),
  );
  return { value: line, findings };
};

const tooLarge = (needs: Needs, { box, leastSize }: Slot, text: string, say: Say): Finding[] => {
  const em = fromPoints(leastSize);
  const sides = [
    { rule: "text-too-long", needed: needs.width * em, room: box.width },
    { rule: "text-too-high", needed: needs.inkHeight * em, room: box.height },
  ] as const;
  return sides
    .filter(({ needed, room }) => needed > room)
    .map(({ rule, needed, room }) => {
      const most = Math.floor((leastSize * room * 10) / needed) / 10;
      return say(rule, { text, leastSize, needed: toMm(needed), room: toMm(room), most });
    });
};

const misplaced = ({ fault, size, box }: PlacedText, { safe }: Slot, text: string, say: Say): Finding =>
  fault?.kind === "near"
    ? say("text-near-line", {
        text,
        size,
        operation: fault.operation,
        distance: toMm(fault.distance),
        safe: toMm(safe),
      })
    : say("text-off-piece", {
        text,
        size,
        box: [toMm(box.x), toMm(box.y), toMm(box.width), toMm(box.height)],
      });
