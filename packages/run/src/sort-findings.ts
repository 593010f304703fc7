import { type Finding, groupFindings } from "@kitforme/kit";

const LEVELS: readonly Finding["level"][] = ["error", "warning", "note"];

/**
 * Errors first, then by place; the same finding twice (a kit wanted by two orders, say) is one, and the same fault at many
 * places is one finding with its places.
 */
export const sortFindings = (findings: readonly Finding[]): Finding[] => {
  const known = new Map(findings.map((f) => [key(f), f]));
  const sorted = [...known]
    .map(([same, finding]) => ({ by: numbered(same), same, finding }))
    .sort((a, b) => compare(a.by, b.by) || compare(a.same, b.same));
  return groupFindings(sorted.map(({ finding }) => finding));
};

const compare = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0);

/** Numbers in a text sort by their size: the second piece before the tenth. */
const numbered = (text: string): string => text.replace(/\d+/g, (digits) => digits.padStart(9, "0"));

const key = ({ level, rule, where, message }: Finding): string =>
  JSON.stringify([
    LEVELS.indexOf(level),
    where.file ?? "",
    where.order ?? "",
    where.line ?? 0,
    where.copy ?? 0,
    where.kit ?? "",
    where.piece ?? "",
    where.slot ?? "",
    rule,
    where.at ?? [],
    message,
    where.operation ?? "",
    where.stock ?? "",
    where.sheet ?? 0,
    where.field ?? "",
  ]);
