import { fitArcs, type Um } from "@kitforme/geometry";
import { OPERATIONS } from "@kitforme/kit";
import type { Mark, ToolPath } from "@kitforme/sheet";
import type { CutBodies } from "./bodies.ts";
import type { CutSheet } from "./cut-sheet.ts";
import { decimal, millimetres } from "../decimal.ts";
import { LEGEND, MARK_COLOUR } from "../legend.ts";
import { markShape } from "../mark.ts";
import { identityOf } from "./identity.ts";

/**
 * The cut file as SVG: size and viewBox in millimetres, one group per operation in working order, `registration` last, arcs
 * as arcs. Points are whole micrometres written as millimetres, so nothing is rounded. SVG's y runs down, the sheet's up.
 */
export const writeSvg = (sheet: CutSheet, bodies: CutBodies): Uint8Array => {
  const w = millimetres(sheet.width);
  const h = millimetres(sheet.height);
  const text = [
    `<?xml version="1.0" encoding="UTF-8"?>`,
    `<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="${w}mm" height="${h}mm" viewBox="0 0 ${w} ${h}">`,
    `<title>${identityOf(sheet)}</title>`,
    bodies.of(sheet, "svg", () => groupsOf(sheet)),
    `</svg>`,
    "",
  ].join("\n");
  return new TextEncoder().encode(text);
};

const groupsOf = (sheet: CutSheet): string => {
  const groups = OPERATIONS.map((operation) => ({
    operation,
    paths: sheet.paths.filter((p) => p.operation === operation),
  })).filter((g) => g.paths.length > 0);
  return [
    ...groups.flatMap(({ operation, paths }) => [
      `<g id="${operation}" fill="none" stroke="${LEGEND[operation].colour}" stroke-width="0.1">`,
      ...paths.map((path) => `<path d="${dataOf(path, sheet.height)}"/>`),
      `</g>`,
    ]),
    `<g id="registration" fill="${MARK_COLOUR}" stroke="none">`,
    ...sheet.marks.map((mark) => markOf(mark, sheet.height)),
    `</g>`,
  ].join("\n");
};

const down = (height: Um, { x, y }: { readonly x: Um; readonly y: Um }, comma = " "): string =>
  `${millimetres(x)}${comma}${millimetres(height - y)}`;

/** Nanometres of a radius: an arc of a third of a turn moves by no more than twice what its radius is off. */
const RADIUS_PLACES = 6;

const dataOf = ({ points, closed }: ToolPath, height: Um): string => {
  const { from, segments } = fitArcs(points, closed);
  // A straight way home is what Z does.
  const home = closed && segments.at(-1)?.kind === "line" ? segments.slice(0, -1) : segments;
  const steps = home.map((s) =>
    s.kind === "line"
      ? `L${down(height, s.to)}`
      : // The sweep flag counts with y down: counter-clockwise on the sheet is 0.
        `A${decimal(s.radius / 1000, RADIUS_PLACES)} ${decimal(s.radius / 1000, RADIUS_PLACES)} 0 0 ${s.sweep > 0 ? 0 : 1} ${down(height, s.to)}`,
  );
  return `M${down(height, from)}${steps.join("")}${closed ? "Z" : ""}`;
};

const markOf = (mark: Mark, height: Um): string => {
  const shape = markShape(mark);
  return shape.kind === "circle"
    ? `<circle cx="${millimetres(shape.x)}" cy="${millimetres(height - shape.y)}" r="${millimetres(shape.radius)}"/>`
    : `<polygon points="${shape.points.map((p) => down(height, p, ",")).join(" ")}"/>`;
};
