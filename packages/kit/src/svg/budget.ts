// `use` multiplies: twenty levels of ten uses are 10^20 shapes in two kilobytes. So what would be drawn is counted before
// anything is drawn, without walking it.
import type { Element } from "domhandler";
import type { Ledger } from "../ledger.ts";
import { elementsOf, nameOf } from "./parse.ts";
import { type Ids, targetOf } from "./references.ts";

/** Shapes a drawing may draw, every use counted. The artwork's renderer gives up at 500,000 uses, after twelve seconds. */
export const MOST_DRAWN = 300_000;

/**
 * True when the drawing, with every use counted, stays within the budget and no use contains itself.
 * @param weigh how much is drawn in the place of an element beyond itself
 */
export const withinBudget = (
  root: Element,
  ids: Ids,
  report: Ledger,
  weigh: (element: Element) => number = () => 0,
): boolean => {
  const sizes = new Map<Element, number>();
  const open = new Set<Element>();
  let good = true;
  const sizeOf = (element: Element): number => {
    const known = sizes.get(element);
    if (known !== undefined) return known;
    if (open.has(element)) {
      if (good) report.say("use-refused", { element: nameOf(element), why: "is used inside itself" });
      good = false;
      return 0;
    }
    open.add(element);
    let size = 1 + weigh(element);
    for (const child of elementsOf(element)) size += sizeOf(child);
    if (element.name === "use") {
      const target = targetOf(element, ids);
      if (target) size += sizeOf(target);
    }
    open.delete(element);
    sizes.set(element, size);
    return size;
  };
  const size = sizeOf(root);
  if (good && size > MOST_DRAWN) {
    report.say("drawing-too-large", { what: "shapes, every use counted", most: MOST_DRAWN });
    return false;
  }
  return good;
};
