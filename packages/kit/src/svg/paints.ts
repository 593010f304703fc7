// Is there anything left to print? Asked of the pruned drawing, by its own styles.
import type { Element } from "domhandler";
import { elementsOf, textOf } from "./parse.ts";
import { SHAPES } from "./path-data.ts";
import { NEVER_DRAWN } from "./references.ts";

/** The value of a property on one element itself. */
export type Own = (element: Element, property: string) => string | undefined;

interface Paint {
  readonly fill: string;
  readonly stroke: string;
  readonly visible: boolean;
}

const isNone = (paint: string): boolean => /^(none|transparent)$/i.test(paint.trim());
const isZero = (value: string | undefined): boolean =>
  value !== undefined && /^\s*0*\.?0*(%|px)?\s*$/.test(value) && /0/.test(value);

export interface Found {
  paints: boolean;
}

/**
 * Whether anything of a drawing leaves ink. Careful on the side of ink: only what is surely invisible
 * (no paint, no opacity, not displayed, hidden) counts as nothing.
 */
export const paintsIn = (root: Element, own: Own, target: (use: Element) => Element | undefined): Found => {
  const found: Found = { paints: false };
  const seen = new Set<string>();
  const numbers = new Map<Element, number>();
  const visit = (element: Element, outer: Paint): void => {
    if (own(element, "display")?.trim() === "none" || isZero(own(element, "opacity"))) return;
    const value = (property: "fill" | "stroke"): string => {
      const v = own(element, property)?.trim();
      return v === undefined || v === "" || v === "inherit" ? outer[property] : v;
    };
    const visibility = own(element, "visibility")?.trim();
    const visible = visibility === undefined || visibility === "inherit" ? outer.visible : visibility === "visible";
    const paint: Paint = { fill: value("fill"), stroke: value("stroke"), visible };
    if (element.name === "use") {
      const to = target(element);
      if (!to || (NEVER_DRAWN.has(to.name) && to.name !== "symbol")) return;
      // Once for each way of painting it is enough: a use of a use of a use is not counted out again.
      if (!numbers.has(to)) numbers.set(to, numbers.size);
      const key = `${numbers.get(to)} ${paint.fill} ${paint.stroke} ${visible}`;
      if (seen.has(key)) return;
      seen.add(key);
      if (to.name === "symbol") for (const child of elementsOf(to)) visit(child, paint);
      else visit(to, paint);
      return;
    }
    if (NEVER_DRAWN.has(element.name)) return;
    const inked =
      (!isNone(paint.fill) && !isZero(own(element, "fill-opacity"))) ||
      (!isNone(paint.stroke) && !isZero(own(element, "stroke-width")) && !isZero(own(element, "stroke-opacity")));
    if (SHAPES.has(element.name)) {
      if (visible && inked) found.paints = true;
    } else if (element.name === "image") {
      if (visible) found.paints = true;
    } else if (element.name === "text") {
      if (visible && textOf(element).trim() !== "") found.paints = true;
    } else for (const child of elementsOf(element)) visit(child, paint);
  };
  visit(root, { fill: "black", stroke: "none", visible: true });
  return found;
};
