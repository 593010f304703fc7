import { type Finding, type Place, plain } from "@kitforme/kit";
import type { Caution } from "@kitforme/run";

/** Place of a finding in words, from the outside in. */
const placeInWords = (where: Place): string => {
  const parts: string[] = [];
  if (where.file !== undefined) parts.push(where.file);
  if (where.order !== undefined) parts.push(`order ${where.order}`);
  if (where.line !== undefined) parts.push(`line ${where.line}`);
  if (where.kit !== undefined) parts.push(`kit ${where.kit}`);
  if (where.piece !== undefined) parts.push(`piece ${where.piece}`);
  if (where.slot !== undefined) parts.push(`slot ${where.slot}`);
  if (where.operation !== undefined) parts.push(where.operation);
  if (where.stock !== undefined) parts.push(`stock ${where.stock}`);
  if (where.sheet !== undefined) parts.push(`sheet ${where.sheet}`);
  if (where.at !== undefined) parts.push(`at ${where.at.map((v) => v.toFixed(1)).join(" / ")} mm`);
  return plain(parts.join(", "));
};

/** One finding as two lines: what is wrong and where, then what to do. */
export const findingInWords = ({ level, rule, where, message, hint }: Finding): string => {
  const place = placeInWords(where);
  return `${level} ${rule}${place ? ` (${place})` : ""}\n    ${plain(message)}${hint ? `\n    -> ${plain(hint)}` : ""}`;
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
      `error kit-at-fault\n    ${plural(orders, "order")} cannot be made until the faults above are mended in ${kits}`,
    );
  }
  return lines;
};

/** Cautions for people, one a line. */
export const cautionsInWords = (cautions: readonly Caution[]): string[] =>
  cautions.map(({ title, text }) => `${title}: ${text}`);
