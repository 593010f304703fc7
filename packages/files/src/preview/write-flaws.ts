import { placeInWords, placesOf, plain } from "@kitforme/kit";
import { encodePng, overlaid, setLine } from "@kitforme/prepress";
import { decimal } from "../decimal.ts";
import type { PreviewBase } from "./base.ts";
import { type Flaw, LEVEL_COLOURS } from "./flaw.ts";
import { type Pointer, pointersOf } from "./pointers.ts";

const GROUND: readonly [number, number, number] = [226, 223, 216];
/** Pixels. Narrower pictures are set on a ground of this width, so that sentences have room. */
const LEAST_WIDTH = 720;
const TYPE = 19;
const LEADING = 27;

/**
 * A piece with every finding about it at its place: a numbered disc with a line to the point, a frame round a slot; what has no
 * place stands in a row above the piece.
 *
 * @returns PNG bytes: `marked` for a page that has the sentences beside it, `lettered` with the sentences below the piece
 */
export const writeFlaws = async (
  base: PreviewBase,
  flaws: readonly Flaw[],
): Promise<{ readonly marked: Uint8Array; readonly lettered: Uint8Array }> => {
  const radius = Math.round(Math.max(20, Math.min(44, Math.max(base.width, base.height) * 0.038)));
  const margin = Math.round(radius * 2.8);
  const frame = {
    width: Math.max(LEAST_WIDTH, base.width + 2 * margin),
    height: base.height + 2 * margin,
    left: Math.round((Math.max(LEAST_WIDTH, base.width + 2 * margin) - base.width) / 2),
    top: margin,
  };
  const marks = pointersOf(base, flaws, { ...frame, radius }).map((pointer) => markOf(pointer, radius));
  const sentences = flaws.map((flaw) => lettersOf(flaw, base.prepared.piece.piece, frame.width));
  const tall = frame.height + sentences.reduce((sum, { height }) => sum + height, 24);
  let y = frame.height + 12;
  const letters = sentences.map(({ svg, height }) => {
    const placed = `<g transform="translate(0 ${y})">${svg}</g>`;
    y += height;
    return placed;
  });
  const strip = `<rect x="0" y="${frame.height}" width="${frame.width}" height="${tall - frame.height}" fill="#ffffff"/>`;
  const draw = async (height: number, content: string): Promise<Uint8Array> => {
    const svg = `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${frame.width} ${height}">${content}</svg>`;
    const pixels = await overlaid(onGround(base, frame, height), frame.width, height, svg);
    return encodePng(pixels, frame.width, height, 4);
  };
  return {
    marked: await draw(frame.height, marks.join("")),
    lettered: await draw(tall, [strip, ...marks, ...letters].join("")),
  };
};

/** The piece on a ground that white paper stands out from. */
const onGround = (
  { pixels, width, height }: PreviewBase,
  frame: { readonly width: number; readonly left: number; readonly top: number },
  tall: number,
): Uint8Array => {
  const ground = new Uint8Array(frame.width * tall * 4);
  for (let at = 0; at < ground.length; at += 4) ground.set([...GROUND, 255], at);
  for (let row = 0; row < height; row++) {
    let from = row * width * 4;
    let to = ((frame.top + row) * frame.width + frame.left) * 4;
    for (let column = 0; column < width; column++, from += 4, to += 4) {
      const cover = pixels[from + 3] as number;
      for (let channel = 0; channel < 3; channel++) {
        const under = ground[to + channel] as number;
        ground[to + channel] = Math.round(under + (((pixels[from + channel] as number) - under) * cover) / 255);
      }
    }
  }
  return ground;
};

const disc = (number: number, x: number, y: number, radius: number, colour: string): string =>
  `<circle cx="${decimal(x, 1)}" cy="${decimal(y, 1)}" r="${radius}" fill="${colour}" stroke="#ffffff" stroke-width="2"/>` +
  words(String(number), x, y + radius * 0.36, radius * (number > 99 ? 0.8 : 1.05), "#ffffff", "semibold", "centre");

const markOf = ({ number, level, at, disc: [x, y], slot }: Pointer, radius: number): string => {
  const colour = LEVEL_COLOURS[level];
  const box = slot
    ? `<rect x="${decimal(slot.x, 1)}" y="${decimal(slot.y, 1)}" width="${decimal(slot.width, 1)}" height="${decimal(slot.height, 1)}" fill="none" stroke="#ffffff" stroke-width="5"/>` +
      `<rect x="${decimal(slot.x, 1)}" y="${decimal(slot.y, 1)}" width="${decimal(slot.width, 1)}" height="${decimal(slot.height, 1)}" fill="none" stroke="${colour}" stroke-width="2.5" stroke-dasharray="8 5"/>`
    : "";
  if (!at) return box + disc(number, x, y, radius, colour);
  const line = `M${decimal(at[0], 1)} ${decimal(at[1], 1)}L${decimal(x, 1)} ${decimal(y, 1)}`;
  return (
    box +
    `<path d="${line}" fill="none" stroke="#ffffff" stroke-width="6"/><path d="${line}" fill="none" stroke="${colour}" stroke-width="3"/>` +
    `<circle cx="${decimal(at[0], 1)}" cy="${decimal(at[1], 1)}" r="6" fill="#ffffff" stroke="${colour}" stroke-width="3"/>` +
    disc(number, x, y, radius, colour)
  );
};

/** Micrometres of a pixel that type is set by: 96 pixels to the inch. */
const PIXEL = 25_400 / 96;
const pointsOf = (pixels: number): number => (pixels * 72) / 96;

const words = (
  text: string,
  x: number,
  y: number,
  size: number,
  colour: string,
  weight: "regular" | "semibold" = "regular",
  align: "left" | "centre" = "left",
): string => {
  const { outlines } = setLine(text, { size: pointsOf(size), weight, align });
  const scale = decimal(1 / PIXEL, 8);
  return `<path transform="matrix(${scale} 0 0 -${scale} ${decimal(x, 2)} ${decimal(y, 2)})" d="${outlines}" fill="${colour}"/>`;
};

/** A sentence in lines that are not wider than so many pixels; a word longer than a line is broken anywhere. */
const wrapped = (text: string, width: number, weight: "regular" | "semibold"): string[] => {
  const wide = (part: string): number => setLine(part, { size: pointsOf(TYPE), weight }).width / PIXEL;
  const lines: string[] = [];
  let line = "";
  for (const word of text.split(/\s+/)) {
    if (line !== "" && wide(`${line} ${word}`) <= width) line = `${line} ${word}`;
    else {
      if (line !== "") lines.push(line);
      line = word;
      while (wide(line) > width && line.length > 1) {
        let take = line.length - 1;
        while (take > 1 && wide(line.slice(0, take)) > width) take--;
        lines.push(line.slice(0, take));
        line = line.slice(take);
      }
    }
  }
  return line === "" ? lines : [...lines, line];
};

/** The sentences of a finding below the picture; how high they are in pixels. */
const lettersOf = ({ number, finding }: Flaw, piece: string, width: number): { svg: string; height: number } => {
  const { level, message, hint } = finding;
  const [left, radius, indent] = [20, 17, 64];
  const colour = LEVEL_COLOURS[level];
  const { kit: _kit, piece: _piece, ...where } = finding.where;
  const place = finding.where.piece === piece ? placeInWords(where) : "";
  const others = placesOf(finding).length - 1 + (finding.more ?? 0);
  const head = [level, place, others > 0 ? `and ${others} more ${others === 1 ? "place" : "places"}` : ""];
  const lines = [
    ...wrapped(head.filter(Boolean).join(", "), width - indent - left, "semibold").map(
      (line) => [line, "head"] as const,
    ),
    ...wrapped(plain(message), width - indent - left, "regular").map((line) => [line, "text"] as const),
    ...wrapped(plain(hint), width - indent - left, "regular").map((line) => [line, "hint"] as const),
  ];
  const fills = { head: colour, text: "#1d1d1d", hint: "#5a5a5a" };
  const svg = lines.map(([line, kind], i) =>
    words(line, indent, 24 + i * LEADING, TYPE, fills[kind], kind === "head" ? "semibold" : "regular"),
  );
  return { svg: disc(number, left + radius, 20, radius, colour) + svg.join(""), height: lines.length * LEADING + 18 };
};
