import { type Finding, hasErrors } from "@kitforme/kit";
import type { Sheet } from "@kitforme/sheet";
import type { ReadJobFile } from "./fit.ts";
import { layOut } from "./lay-out.ts";
import { withOpeners } from "./outside/with-openers.ts";
import { orderAgain } from "./remake.ts";
import { type Options, settingsOf } from "./run.ts";
import { sortFindings } from "./sort-findings.ts";

/**
 * The make-up sheets of a remake, laid and proven as `remake` lays them, without opening a picture or writing a file.
 * `sheets` is absent when an error stands among the findings.
 */
export const planRemake = async (
  read: ReadJobFile,
  spoiled: readonly string[],
  options: Options = {},
): Promise<{ readonly job?: string; readonly sheets?: readonly Sheet[]; readonly findings: readonly Finding[] }> =>
  withOpeners(options, async (work) => {
    const { wanted, findings: met } = await orderAgain(read, spoiled, options, work);
    if (!wanted) return { findings: met };
    const { commission, articles } = wanted;
    const laid = await layOut(articles, commission, settingsOf(options), work, true);
    const findings = sortFindings([...wanted.findings, ...laid.findings]);
    return laid.sheets && !hasErrors(findings) ? { job: commission.job, sheets: laid.sheets, findings } : { findings };
  });
