import { kitsNamedIn } from "@kitforme/kit";
import { type Finding, hasErrors } from "@kitforme/run";
import type { OrderText } from "../keys.ts";

/** Whether a finding speaks of an order, at any of its places. */
const isAbout = (order: OrderText, { where, places = [] }: Finding): boolean =>
  [where, ...places].some((place) => isAt(order, place));

const isAt = (order: OrderText, where: Finding["where"]): boolean =>
  where.order !== undefined
    ? where.order === order.name
    : where.kit !== undefined
      ? kitsNamedIn(order.text).includes(where.kit)
      : where.file === undefined || where.file === order.file;

/** Orders that an error speaks of; all of them when no error speaks of any. */
export const blame = (orders: readonly OrderText[], findings: readonly Finding[]): readonly OrderText[] => {
  if (!hasErrors(findings)) throw new Error("a run ended with neither a job nor an error");
  const errors = findings.filter((f) => f.level === "error");
  const blamed = orders.filter((order) => errors.some((f) => isAbout(order, f)));
  return blamed.length > 0 ? blamed : orders;
};

/** The findings that an order gets to hear. */
export const findingsFor = (order: OrderText, findings: readonly Finding[]): readonly Finding[] => {
  const about = findings.filter((f) => isAbout(order, f));
  return about.length > 0 ? about : findings;
};
