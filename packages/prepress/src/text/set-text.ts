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
import type { Say } from "./say.ts";
import { quote, sayAt, spell } from "./say.ts";
import { segment } from "./segment.ts";
import type { ShapedLine } from "./shape.ts";
import { shapeLine } from "./shape.ts";
import type { Typeface } from "./typeface.ts";

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

const cleaningFindings = ({ text, removed, damaged }: ReturnType<typeof cleanText>, say: Say): Finding[] => {
  if (damaged.length > 0)
    return [
      say(
        "error",
        "text-damaged",
        `the text ${quote(text)} holds ${damaged.join(", ")}, which is no character`,
        "write the text again; it was damaged where it was stored or sent",
      ),
    ];
  if (removed.length === 0) return [];
  const message = `took ${removed.join(", ")} out of the text ${quote(text)}: unseen characters that steer how a text runs`;
  return [say("warning", "text-cleaned", message, "check the text on the proof")];
};

const shapeWith = (faces: readonly Typeface[], text: string, say: Say): Prepared<ShapedLine> => {
  const { runs, missing, fallbacks } = segment(text, faces);
  const line = shapeLine(text, runs);
  const undrawn = line.undrawn.map((at) => String.fromCodePoint(text.codePointAt(at) as number));
  const lacking = [...new Set([...missing, ...undrawn])];
  if (lacking.length > 0) {
    const tried = faces.map((face) => face.file).join(", ");
    const message = `no font has ${lacking.map(spell).join(", ")} of the text ${quote(text)}; tried ${tried}`;
    const hint = "give the slot a font that has these characters, or spell the text without them";
    return { findings: [say("error", "glyph-missing", message, hint)] };
  }
  // A second font of the slot is the designer's own choice; only the bundled one comes unasked.
  const unasked = fallbacks.filter(({ face }) => face === bundledTypeface());
  const findings = unasked.map(({ face, clusters }) =>
    say(
      "warning",
      "glyph-fallback",
      `${faces[0]?.file} lacks ${clusters.map(spell).join(", ")} of the text ${quote(text)}: set in ${face.file}`,
      "give the slot a font that has these characters, or accept the other letterforms",
    ),
  );
  return { value: line, findings };
};

const shown = (um: number): string => toMm(um).toFixed(1);
/** Rounded up, so that what is asked for is never shown smaller than it is. */
const shownAbove = (um: number): string => (Math.ceil(um / 100) / 10).toFixed(1);

const tooLarge = (needs: Needs, { box, leastSize }: Slot, text: string, say: Say): Finding[] => {
  const em = fromPoints(leastSize);
  const sides = [
    { rule: "text-too-long", needed: needs.width * em, room: box.width, long: "long", wide: "wide" },
    { rule: "text-too-high", needed: needs.inkHeight * em, room: box.height, long: "high", wide: "high" },
  ];
  return sides
    .filter(({ needed, room }) => needed > room)
    .map(({ rule, needed, room, long, wide }) => {
      const most = Math.floor((leastSize * room * 10) / needed) / 10;
      return say(
        "error",
        rule,
        `the text ${quote(text)} is ${shownAbove(needed)} mm ${long} at its least size of ${leastSize} pt: ${shownAbove(needed - room)} mm more than the box is ${wide} (${shown(room)} mm)`,
        `shorten the text, make the box larger, or let the text shrink to ${most} pt`,
      );
    });
};

const misplaced = ({ fault, size }: PlacedText, { safe, box }: Slot, text: string, say: Say): Finding => {
  if (fault?.kind !== "near") {
    const message = `the text ${quote(text)} at ${size} pt does not lie on the piece: its box starts at ${shown(box.x)}, ${shown(box.y)} mm and is ${shown(box.width)} x ${shown(box.height)} mm`;
    return say("error", "text-off-piece", message, "move the slot's box onto the piece");
  }
  const distance = fault.distance === 0 ? "is crossed by" : `comes within ${toMm(fault.distance).toFixed(2)} mm of`;
  return say(
    "error",
    "text-near-line",
    `the text ${quote(text)} at ${size} pt ${distance} a ${fault.operation} line; it must stay ${toMm(safe).toFixed(2)} mm away`,
    "move or narrow the slot's box, shorten the text, or lower the slot's least size",
  );
};
