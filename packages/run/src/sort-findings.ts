import { type Finding, groupFindings } from "@kitforme/kit";

const LEVELS: readonly Finding["level"][] = ["error", "warning", "note"];

/**
 * Errors first, then by place; the same finding twice (a kit wanted by two orders, say) is one, and the same fault at many
 * places is one finding with its places.
 */
export const sortFindings = (findings: readonly Finding[]): Finding[] => {
  const known = new Map(findings.map((f) => [key(f), f]));
  return groupFindings([...known].sort(([a], [b]) => (a < b ? -1 : a > b ? 1 : 0)).map(([, finding]) => finding));
};

/** A number that sorts as text as it does as a number. */
const numbered = (value: number | undefined): string => String(value ?? 0).padStart(8, "0");

const key = ({ level, rule, where, message }: Finding): string =>
  JSON.stringify([
    LEVELS.indexOf(level),
    where.file ?? "",
    where.order ?? "",
    numbered(where.line),
    numbered(where.copy),
    where.kit ?? "",
    where.piece ?? "",
    where.slot ?? "",
    rule,
    where.at ?? [],
    message,
  ]);
