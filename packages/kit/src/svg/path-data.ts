// Every shape as path data, so that one way leads from a drawing to a line. Numbers keep all their digits.
import type { Element } from "domhandler";
import type { Ledger } from "../ledger.ts";
import type { Styles } from "./cascade.ts";
import { nameOf } from "./parse.ts";
import { type Measure, toUserUnits } from "./units.ts";

export const SHAPES = new Set(["path", "rect", "circle", "ellipse", "line", "polyline", "polygon"]);

/** A length of an element in user units, `undefined` when it is not given or `auto`, NaN when it was reported as unreadable. */
export type LengthOf = (property: string, axis: "x" | "y" | "both") => number | undefined;

export const lengthsOf = (element: Element, styles: Styles, measure: Measure, report: Ledger): LengthOf => {
  return (property, axis) => {
    const text = styles.own(element, property);
    if (text === undefined || text.trim() === "auto" || text.trim() === "") return undefined;
    const length = toUserUnits(text, axis, measure);
    if ("value" in length) return length.value;
    const fact = { element: nameOf(element), attribute: property, value: text };
    if (length.fault === "unit") report.say("unit-unknown", fact);
    else report.say("value-unreadable", { ...fact, why: "a length is expected" });
    return Number.NaN;
  };
};

/** An ellipse; undefined when it has no size. */
export const ellipsePath = (cx: number, cy: number, rx: number, ry: number): string | undefined =>
  rx > 0 && ry > 0
    ? // Four quarters: an arc from a point to itself draws nothing, and halves leave their bulge to rounding.
      `M${cx + rx} ${cy}A${rx} ${ry} 0 0 1 ${cx} ${cy + ry}A${rx} ${ry} 0 0 1 ${cx - rx} ${cy}` +
      `A${rx} ${ry} 0 0 1 ${cx} ${cy - ry}A${rx} ${ry} 0 0 1 ${cx + rx} ${cy}Z`
    : undefined;

const rect = (x: number, y: number, w: number, h: number, rx: number, ry: number): string | undefined => {
  if (!(w > 0 && h > 0)) return undefined;
  if (rx === 0 || ry === 0) return `M${x} ${y}H${x + w}V${y + h}H${x}Z`;
  const arc = `A${rx} ${ry} 0 0 1 `;
  return (
    `M${x + rx} ${y}L${x + w - rx} ${y}${arc}${x + w} ${y + ry}L${x + w} ${y + h - ry}${arc}${x + w - rx} ${y + h}` +
    `L${x + rx} ${y + h}${arc}${x} ${y + h - ry}L${x} ${y + ry}${arc}${x + rx} ${y}Z`
  );
};

const NUMBER = /[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?/g;

const poly = (element: Element, close: boolean, report: Ledger): string | undefined => {
  const text = element.attribs["points"] ?? "";
  const numbers = text.match(NUMBER) ?? [];
  // An odd number or a stray letter: draw up to it, say so (SVG 1.1, F.2 wants the error shown).
  if (text.replace(NUMBER, "").replace(/[\s,]/g, "") !== "" || numbers.length % 2 === 1)
    report.say("value-unreadable", {
      element: nameOf(element),
      attribute: "points",
      value: text.slice(0, 200),
      why: "pairs of numbers are expected",
    });
  if (numbers.length < 4) return undefined;
  return `M${numbers.slice(0, numbers.length & ~1).join(" ")}${close ? "Z" : ""}`;
};

/**
 * The path data of a shape in its own user units; undefined when it draws nothing (no size, no points). Faults are reported.
 * Rounded corners by SVG 1.1, 9.2: one radius stands for both, each at most half the side.
 */
export const pathDataOf = (element: Element, styles: Styles, measure: Measure, report: Ledger): string | undefined => {
  const length = lengthsOf(element, styles, measure, report);
  const all = (...values: number[]): boolean => values.every(Number.isFinite);
  switch (element.name) {
    case "path": {
      if (styles.winners(element).has("d")) report.say("css-refused", { element: nameOf(element), property: "d" });
      const d = element.attribs["d"]?.trim();
      return d === undefined || d === "" || d === "none" ? undefined : d;
    }
    case "rect": {
      const [x, y] = [length("x", "x") ?? 0, length("y", "y") ?? 0];
      const [w, h] = [length("width", "x") ?? 0, length("height", "y") ?? 0];
      const [one, two] = [length("rx", "x"), length("ry", "y")];
      if (!all(x, y, w, h, one ?? 0, two ?? 0)) return undefined;
      const rx = Math.min(Math.max(0, one ?? two ?? 0), w / 2);
      const ry = Math.min(Math.max(0, two ?? one ?? 0), h / 2);
      return rect(x, y, w, h, rx, ry);
    }
    case "circle": {
      const [cx, cy, r] = [length("cx", "x") ?? 0, length("cy", "y") ?? 0, length("r", "both") ?? 0];
      return all(cx, cy, r) ? ellipsePath(cx, cy, r, r) : undefined;
    }
    case "ellipse": {
      const [cx, cy] = [length("cx", "x") ?? 0, length("cy", "y") ?? 0];
      const [one, two] = [length("rx", "x"), length("ry", "y")];
      const [rx, ry] = [one ?? two ?? 0, two ?? one ?? 0];
      return all(cx, cy, rx, ry) ? ellipsePath(cx, cy, rx, ry) : undefined;
    }
    case "line": {
      const [x1, y1] = [length("x1", "x") ?? 0, length("y1", "y") ?? 0];
      const [x2, y2] = [length("x2", "x") ?? 0, length("y2", "y") ?? 0];
      return all(x1, y1, x2, y2) ? `M${x1} ${y1}L${x2} ${y2}` : undefined;
    }
    case "polyline":
      return poly(element, false, report);
    case "polygon":
      return poly(element, true, report);
    default:
      return undefined;
  }
};
