import { type Finding, furtherPlacesInWords, placeInWords, plain } from "@kitforme/kit";
import type { Caution } from "@kitforme/run";

/** One finding as two or three lines: what is wrong and where, where else, and what to do. */
export const findingInWords = (finding: Finding): string => {
  const { level, rule, where, message, hint } = finding;
  const place = placeInWords(where);
  const further = furtherPlacesInWords(finding);
  return [
    `${level} ${rule}${place ? ` (${place})` : ""}`,
    plain(message),
    ...(further ? [further] : []),
    ...(hint ? [`-> ${plain(hint)}`] : []),
  ].join("\n    ");
};

/** "3 errors, 1 warning", or "no findings". */
export const countInWords = (findings: readonly Finding[]): string => {
  const counts = (["error", "warning", "note"] as const)
    .map((level) => [level, findings.filter((f) => f.level === level).length] as const)
    .filter(([, n]) => n > 0)
    .map(([level, n]) => `${n} ${level}${n === 1 ? "" : "s"}`);
  return counts.length > 0 ? counts.join(", ") : "no findings";
};

export const plural = (n: number, one: string, many = `${one}s`): string => `${n} ${n === 1 ? one : many}`;
export const percent = (share: number): string => `${(share * 100).toFixed(1)} %`;

/** Findings for people, one under the other. Orders that only wait for a kit to be mended are counted, not listed. */
export const findingsInWords = (findings: readonly Finding[]): string[] => {
  const waiting = findings.filter((f) => f.rule === "kit-at-fault");
  const lines = findings.filter((f) => f.rule !== "kit-at-fault").map(findingInWords);
  if (waiting.length > 0) {
    const orders = new Set(waiting.map((f) => f.where.order)).size;
    const kits = [...new Set(waiting.map((f) => f.where.kit))].join(", ");
    lines.push(
      `error kit-at-fault\n    ${plural(orders, "order")} cannot be made until the faults above are corrected in ${kits}.`,
    );
  }
  return lines;
};

/** Cautions for people, one a line. */
export const cautionsInWords = (cautions: readonly Caution[]): string[] =>
  cautions.map(({ title, text }) => `${title}: ${text}`);
