import type { Finding, Place } from "./problem.ts";
import { type Facts, type Rule, say } from "./say.ts";

/** As many findings of one rule are listed in full; the rest is counted in the last one (`more`). */
const MOST_PER_RULE = 40;

/** Findings about one thing, gathered in the order they are met. */
export interface Ledger {
  readonly say: <R extends Rule>(rule: R, facts: Facts[R], more?: Place) => void;
  readonly add: (findings: readonly Finding[]) => void;
  readonly findings: () => readonly Finding[];
}

export const ledger = (where: Place): Ledger => {
  const findings: Finding[] = [];
  const counts = new Map<string, number>();
  const once = new Set<string>();
  const add = (finding: Finding): void => {
    // One fault in a shape that is used a hundred times is one fault.
    const key = JSON.stringify([finding.rule, finding.where, finding.message]);
    if (once.has(key)) return;
    once.add(key);
    const met = (counts.get(finding.rule) ?? 0) + 1;
    counts.set(finding.rule, met);
    if (met <= MOST_PER_RULE) findings.push(finding);
  };
  return {
    say: (rule, facts, more) => add(say(rule, { ...where, ...more }, facts)),
    add: (all) => all.forEach(add),
    findings: () =>
      findings.map((finding, i) => {
        const more = (counts.get(finding.rule) ?? 0) - MOST_PER_RULE;
        const last = more > 0 && findings.findLastIndex((f) => f.rule === finding.rule) === i;
        return last ? { ...finding, more } : finding;
      }),
  };
};
