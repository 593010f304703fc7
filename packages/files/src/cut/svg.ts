import type { Um } from "@kitforme/geometry";
import { OPERATIONS } from "@kitforme/kit";
import type { Mark, Sheet, SheetLine } from "@kitforme/sheet";
import { millimetres } from "../decimal.ts";
import { LEGEND, MARK_COLOUR } from "../legend.ts";
import { markShape } from "../mark.ts";

/**
 * The cut file as SVG: size and viewBox in millimetres, one group per operation in working order, `registration` last.
 * Coordinates are whole micrometres written as millimetres, so nothing is rounded. SVG's y runs down, the sheet's up.
 */
export const writeSvg = (sheet: Sheet): Uint8Array => {
  const w = millimetres(sheet.width);
  const h = millimetres(sheet.height);
  const groups = OPERATIONS.map((operation) => ({
    operation,
    lines: sheet.lines.filter((l) => l.operation === operation),
  })).filter((g) => g.lines.length > 0);
  const text = [
    `<?xml version="1.0" encoding="UTF-8"?>`,
    `<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="${w}mm" height="${h}mm" viewBox="0 0 ${w} ${h}">`,
    ...groups.flatMap(({ operation, lines }) => [
      `<g id="${operation}" fill="none" stroke="${LEGEND[operation].colour}" stroke-width="0.1">`,
      ...lines.map((line) => `<path d="${pathOf(line, sheet.height)}"/>`),
      `</g>`,
    ]),
    `<g id="registration" fill="${MARK_COLOUR}" stroke="none">`,
    ...sheet.marks.map((mark) => markOf(mark, sheet.height)),
    `</g>`,
    `</svg>`,
    "",
  ].join("\n");
  return new TextEncoder().encode(text);
};

const down = (height: Um, x: Um, y: Um, comma = " "): string => `${millimetres(x)}${comma}${millimetres(height - y)}`;

const pathOf = ({ points, closed }: SheetLine, height: Um): string =>
  `M${points.map((p) => down(height, p.x, p.y)).join("L")}${closed ? "Z" : ""}`;

const markOf = (mark: Mark, height: Um): string => {
  const shape = markShape(mark);
  return shape.kind === "circle"
    ? `<circle cx="${millimetres(shape.x)}" cy="${millimetres(height - shape.y)}" r="${millimetres(shape.radius)}"/>`
    : `<polygon points="${shape.points.map((p) => down(height, p.x, p.y, ",")).join(" ")}"/>`;
};
