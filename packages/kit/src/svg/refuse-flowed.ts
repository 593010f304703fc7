// Text that flows into a width or a shape. SVG 1.1 renderers do not know it: `flowRoot` draws nothing, and wrapped text runs
// on in one line, unless the program that made it also wrote every line as a `tspan` with a place of its own.
import { Element, Text } from "domhandler";
import type { Ledger } from "../ledger.ts";
import type { Styles } from "./cascade.ts";
import { nameOf, textOf, walkElements } from "./parse.ts";

const FLOWING = ["inline-size", "shape-inside", "shape-subtract"] as const;

const flowOf = (element: Element, styles: Styles): string | undefined => {
  if (/^flowRoot$/.test(element.name)) return "flowRoot";
  if (element.name !== "text") return undefined;
  return FLOWING.find((property) => !/^\s*(none|auto|0(px)?)?\s*$/i.test(styles.own(element, property) ?? ""));
};

/** Whether every letter stands below a tspan that says where it begins. */
const isPlaced = (element: Element, placed: boolean): boolean =>
  element.children.every((child) => {
    if (child instanceof Text) return placed || child.data.trim() === "";
    if (!(child instanceof Element)) return true;
    return isPlaced(child, placed || (child.attribs["x"] !== undefined && child.attribs["y"] !== undefined));
  });

/** Tells of every flowed text that has letters and no places for its lines. */
export const refuseFlowed = (root: Element, styles: Styles, report: Ledger): void => {
  for (const element of walkElements(root)) {
    const how = flowOf(element, styles);
    const text = how === undefined ? "" : textOf(element).replace(/\s+/g, " ").trim();
    if (how === undefined || text === "" || styles.own(element, "display")?.trim() === "none") continue;
    if (how !== "flowRoot" && isPlaced(element, false)) continue;
    report.say("text-flowed", { element: nameOf(element), how, text: text.slice(0, 60) });
  }
};
