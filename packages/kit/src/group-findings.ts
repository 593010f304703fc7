import type { Finding, FurtherPlace } from "./problem.ts";

/**
 * Findings of one cause as one finding with many places: 24 cards with the same fault are one. One cause is one rule with
 * the same words and remedy, numbers aside, in the same kit, order, stock, file, operation and sheet; its places differ by piece,
 * slot, field, line and point. Each stands where its first place stood. Grouped findings may be grouped again.
 */
export const groupFindings = (findings: readonly Finding[]): Finding[] => {
  const groups = new Map<string, Finding[]>();
  for (const finding of findings) {
    const key = causeOf(finding);
    const group = groups.get(key);
    if (group) group.push(finding);
    else groups.set(key, [finding]);
  }
  return [...groups.values()].map(together);
};

const causeOf = ({ level, rule, message, hint, where }: Finding): string => {
  const { kit, order, stock, file, side, operation, sheet } = where;
  const words = [unnumbered(message), unnumbered(hint)];
  return JSON.stringify([level, rule, words, kit, order, stock, file, operation, sheet, side]);
};

/** A sentence without its numbers; what stands in quotes is a name and stays, digits and all. */
const unnumbered = (sentence: string): string =>
  sentence.replace(/"(?:[^"\\]|\\.)*"|\d+(?:\.\d+)?/g, (part) => (part.startsWith('"') ? part : "#"));

const together = (group: readonly Finding[]): Finding => {
  const first = group[0] as Finding;
  if (group.length === 1) return first;
  const places = new Map<string, FurtherPlace>();
  for (const finding of group)
    for (const place of placesOf(finding)) {
      const own = place.message ?? finding.message;
      const { message: _message, ...where } = place;
      const listed = own === first.message ? where : { ...where, message: own };
      places.set(JSON.stringify(listed), listed);
    }
  const more = group.reduce((sum, finding) => sum + (finding.more ?? 0), 0);
  const { level, rule, where, message, hint } = first;
  const views = group.find((finding) => finding.views)?.views;
  return {
    level,
    rule,
    where,
    ...(places.size > 1 ? { places: [...places.values()] } : {}),
    ...(more > 0 ? { more } : {}),
    ...(views ? { views } : {}),
    message,
    hint,
  };
};

/** Every place of a finding, the first among them. */
export const placesOf = ({ where, places }: Finding): readonly FurtherPlace[] => places ?? [where];
