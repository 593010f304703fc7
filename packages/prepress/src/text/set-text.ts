import { toMm } from "@kitforme/geometry";
import type { Finding, Piece, Place, TextSlot } from "@kitforme/kit";
import { hasErrors } from "@kitforme/kit/findings";
import type { Ink, Prepared, SetText } from "../prepared.ts";
import { breakLines, type Paragraphs } from "./break-lines.ts";
import { bundledTypeface } from "./bundled.ts";
import { cleanText } from "./clean.ts";
import { clearOfLines, type PlacedText } from "./clear-of-lines.ts";
import { fitSize, type Needs, needed, needsOf, wouldFit } from "./fit.ts";
import { pathData } from "./outline.ts";
import { placeOfSlot } from "../slots/place-of-slot.ts";
import { encodedIn } from "./encoded.ts";
import { type Lapse, lapsesOf } from "./lapses.ts";
import { type Direction, directionOf, levelsOf } from "./levels.ts";
import { leadingLacked } from "./line-gap.ts";
import { readTypefaces } from "./read-typefaces.ts";
import { segment } from "./segment.ts";
import { type ShapedLine, shapeLine } from "./shape.ts";
import type { Typeface } from "./typeface.ts";
import { type Say, sayAt } from "./words.ts";

/** Inks of a text: of its letters, and of the line around them where the slot has one. */
export interface TextInks {
  readonly ink: Ink;
  readonly outline?: Ink;
}

/**
 * Sets a text into its slot: NFC, bidi (UAX 9), fonts by coverage, line breaks, shaping, fit, turn, and draws it as outlines;
 * no font is ever embedded. Lengths of the result in micrometres of the drawing, y down.
 *
 * All faults of a text come in one answer: one that lacks a letter is held against its box and the lines all the same.
 * Rules: `text-*`, `font-*`, `glyph-*` of `TextFacts`. There is no value with an error among the findings, nor for an empty
 * text, which is no fault.
 */
export const setText = async (
  slot: TextSlot,
  text: string,
  piece: Piece,
  inks: Ink | TextInks,
): Promise<Prepared<SetText>> => {
  const where: Place = placeOfSlot(piece, slot);
  const say = sayAt(where);
  const most = slot.lines ?? 1;
  const clean = cleanText(text, most > 1);
  const findings: Finding[] = [...cleaningFindings(clean, say)];
  if (clean.text === "") return { findings };

  const fonts = await readTypefaces(slot, say);
  findings.push(...fonts.findings);
  if (!fonts.value) return { findings };
  const own = fonts.value;
  const faces = slot.bundledFirst ? [bundledTypeface(), ...own] : [...own, bundledTypeface()];
  // What is no character has been reported as such; it is not missing from a font as well.
  const shown = clean.text.replace(/\p{Cs}|\p{Noncharacter_Code_Point}/gu, "");
  if (shown === "") return { findings };
  findings.push(...letterFindings(faces, shown, say, own, slot.language));
  const encoded = encodedIn(shown);
  if (encoded) findings.push(say("text-encoded", { text: shown, ...encoded }));

  const block = blockFor(faces, shown, slot, most);
  if (!block) {
    const lines = shown.split("\n").length;
    return { findings: [...findings, say("text-too-many-lines", { text: shown, lines, most })] };
  }
  const { lines, needs, size } = block;
  if (lines.every(({ ink }) => ink === null)) {
    if (!hasErrors(findings)) findings.push(say("text-blank", { text: shown, required: slot.required === true }));
    return { findings };
  }
  if (size === null) return { findings: [...findings, ...tooLarge(needs, slot, shown, say)] };
  const placed = clearOfLines(lines, needs, slot, piece, size);
  if (placed.fault) findings.push(misplacedFinding(placed, slot, shown, say));
  const enough = leadingLacked(lines, needs, slot.align);
  if (enough !== undefined) findings.push(say("text-lines-touch", { text: shown, leading: needs.leading, enough }));
  if (hasErrors(findings)) return { findings };
  const { ink, outline } = "space" in inks ? { ink: inks, outline: undefined } : inks;
  return {
    value: {
      slot: slot.slot,
      ...(slot.side ? { side: slot.side } : {}),
      text: clean.text,
      size: placed.size,
      ink,
      outlines: pathData(placed.commands),
      box: placed.box,
      ...(slot.outline ? { rim: { ink: outline ?? ink, width: slot.outline.width } } : {}),
    },
    findings,
  };
};

const cleaningFindings = ({ text, removed, damaged }: ReturnType<typeof cleanText>, say: Say): Finding[] =>
  damaged.length > 0
    ? [say("text-damaged", { text, damaged })]
    : removed.length > 0
      ? [say("text-cleaned", { text, removed })]
      : [];

/** What the fonts lack of a text, and what of it they cannot draw. */
const letterFindings = (
  faces: readonly Typeface[],
  text: string,
  say: Say,
  own: readonly Typeface[],
  language?: string,
): Finding[] => {
  const lacking = new Set<string>();
  const damaged = new Map<string, Finding>();
  const unasked = new Map<Typeface, Set<string>>();
  const lapses: Lapse[] = [];
  for (const part of text.split("\n")) {
    const { runs, missing, fallbacks } = segment(part, faces, levelsOf(part), language);
    lapses.push(...lapsesOf(part, runs));
    const line = shapeLine(part, runs);
    for (const cluster of missing) lacking.add(cluster);
    for (const at of line.undrawn) lacking.add(String.fromCodePoint(part.codePointAt(at) as number));
    for (const { face, cluster, why } of line.damaged) {
      const finding = say("glyph-damaged", { file: face.file, text, cluster, why });
      damaged.set(finding.message, finding);
    }
    // A second font of the slot is the designer's own choice; only the bundled one comes unasked.
    for (const { face, clusters } of fallbacks)
      if (!own.includes(face)) unasked.set(face, new Set([...(unasked.get(face) ?? []), ...clusters]));
  }
  return [
    ...(lacking.size > 0
      ? [say("glyph-missing", { text, lacking: [...lacking], tried: faces.map((face) => face.file) })]
      : []),
    ...damaged.values(),
    ...lapseFindings(lapses, text, say),
    ...(lacking.size > 0
      ? []
      : [...unasked].map(([face, clusters]) =>
          say("glyph-fallback", { lead: faces[0]?.file ?? "", file: face.file, text, clusters: [...clusters] }),
        )),
  ];
};

/** Each lapse once. */
const lapseFindings = (lapses: readonly Lapse[], text: string, say: Say): Finding[] => {
  const findings = lapses.map((lapse) => {
    switch (lapse.kind) {
      case "alone":
        return say("text-mark-alone", { text, cluster: lapse.cluster });
      case "parted":
        return say("glyph-parted", { file: lapse.face.file, text, cluster: lapse.cluster, signs: lapse.signs });
      case "variant":
        return say("glyph-variant", { file: lapse.face.file, text, cluster: lapse.cluster });
      case "unshaped": {
        const { face, script, joins } = lapse;
        return say("font-unshaped", { file: face.file, text, script: script.replaceAll("_", " "), joins });
      }
    }
  });
  return [...new Map(findings.map((finding) => [finding.message, finding])).values()];
};

interface Block {
  readonly lines: readonly ShapedLine[];
  readonly needs: Needs;
  /** Points; `null` when it does not fit. */
  readonly size: number | null;
}

/** The lines of a paragraph with their levels, which all of it decides: a number beside a Hebrew word may stand on the next line. */
const levelsIn = (
  lines: readonly string[],
  direction: Direction | undefined,
): readonly (readonly [line: string, levels: Uint8Array])[] => {
  const whole = lines.join(" ");
  const levels = levelsOf(whole, directionOf(whole) ?? direction);
  let end = -1;
  return lines.map((line) => {
    const start = end + 1;
    end = start + line.length;
    return [line, levels.subarray(start, end)] as const;
  });
};

/** The text in as many lines as make it largest, the fewest of equals; `null` when its line ends are too many. */
const blockFor = (faces: readonly Typeface[], text: string, slot: TextSlot, most: number): Block | null => {
  const shape = (line: string, levels = levelsOf(line)): ShapedLine =>
    shapeLine(line, segment(line, faces, levels, slot.language).runs);
  const ways: readonly Paragraphs[] =
    most === 1
      ? [[[text]]]
      : breakLines(text, most, (word) => shape(word).advance, shape("n n").advance - shape("nn").advance);
  const first = text
    .split("\n")
    .map(directionOf)
    .find((direction) => direction !== undefined);
  const blocks = ways.map((way): Block => {
    const lines = way.flatMap((paragraph) => levelsIn(paragraph, first).map(([line, levels]) => shape(line, levels)));
    const needs = needsOf(lines, faces[0] as Typeface, slot);
    return { lines, needs, size: fitSize(needs, slot) };
  });
  const rank = ({ size, needs }: Block): number => size ?? Math.min(wouldFit(needs, slot), slot.leastSize) - 1e6;
  return blocks.reduce<Block | null>((best, block) => (best && rank(best) >= rank(block) ? best : block), null);
};

const tooLarge = (needs: Needs, slot: TextSlot, text: string, say: Say): Finding[] => {
  const { box, leastSize, turn = 0 } = slot;
  const [x, y] = needed(needs, needs.inkHeight, turn, leastSize);
  const upright = Math.abs(((turn % 180) + 180) % 180) === 90;
  const [across, down] = upright
    ? (["text-too-high", "text-too-long"] as const)
    : (["text-too-long", "text-too-high"] as const);
  const most = wouldFit(needs, slot);
  return [
    { rule: across, need: x, room: box.width },
    { rule: down, need: y, room: box.height },
  ]
    .sort((a) => (a.rule === "text-too-long" ? -1 : 1))
    .filter(({ need, room }) => need > room)
    .map(({ rule, need, room }) => say(rule, { text, leastSize, needed: toMm(need), room: toMm(room), most }));
};

const misplacedFinding = ({ fault, size, box }: PlacedText, { safe }: TextSlot, text: string, say: Say): Finding =>
  fault?.kind === "near"
    ? say("text-near-line", {
        text,
        size,
        operation: fault.operation,
        distance: toMm(fault.distance),
        safe: toMm(safe),
      })
    : say("text-off-piece", { text, size, box: [toMm(box.x), toMm(box.y), toMm(box.width), toMm(box.height)] });
