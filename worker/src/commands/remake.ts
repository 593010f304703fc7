import { type Effort, type Openers, remake as remakeJob, totalsOf } from "@kitforme/run";
import { fileOf } from "../file-of.ts";
import { faultOfCache } from "../fault-of-cache.ts";
import { faultOfOut } from "../fault-of-out.ts";
import type { Outlet } from "../outlet.ts";
import { showProgress } from "../progress.ts";
import { refuse } from "../refuse.ts";
import type { Stop } from "../stop.ts";
import { intoFolder } from "./into-folder.ts";
import { findingsInWords, plural } from "../words.ts";

export interface RemakeOptions {
  readonly job: string;
  readonly spoiled: readonly string[];
  readonly out: string;
  readonly effort: Effort;
  readonly replace?: boolean;
  readonly cache?: string;
  readonly ahead: Openers;
}

/** Spoiled pieces of a finished job made anew, as a job of its own. */
export const remake = async (options: RemakeOptions, outlet: Outlet, stop: Stop): Promise<number> => {
  const outFault = await faultOfOut(options.out);
  const cacheFault = await faultOfCache(options.cache);
  const faults = [outFault, cacheFault].filter((fault) => fault !== undefined);
  if (faults.length > 0) return refuse(faults, "Nothing was made", outlet);
  const shown = showProgress(outlet, stop);
  return intoFolder(
    { out: options.out, replace: options.replace === true },
    (destination) =>
      remakeJob((name) => fileOf(options.job, name), options.spoiled, destination, {
        effort: options.effort,
        ahead: options.ahead,
        onProgress: shown.onProgress,
        signal: stop.signal,
      }).finally(shown.stop),
    ({ job, findings }) => {
      for (const finding of findings) outlet.event("finding", finding);
      for (const words of findingsInWords(findings)) outlet.say(words);
      const { sheets, pieces } = totalsOf(job);
      outlet.event("remade", { job: job.job, remakes: job.remakes?.job, sheets, pieces, out: options.out });
      outlet.tell(
        `Job ${job.job} makes ${plural(pieces, "piece")} of job ${job.remakes?.job} anew on ${plural(sheets, "sheet")}: ${options.out}`,
      );
    },
    outlet,
    stop,
  );
};
