import { type Attempt, attemptAt, type Effort, HoldsAnotherJob, remake as remakeJob, totalsOf } from "@kitforme/run";
import { EXIT } from "../exit.ts";
import { fileOf } from "../file-of.ts";
import { faultOfOut } from "../fault-of-out.ts";
import { say } from "../faults.ts";
import type { Outlet } from "../outlet.ts";
import { showProgress } from "../progress.ts";
import { refuse } from "../refuse.ts";
import { findingsInWords, plural } from "../words.ts";

export interface RemakeOptions {
  readonly job: string;
  readonly spoiled: readonly string[];
  readonly out: string;
  readonly effort: Effort;
  readonly replace?: boolean;
}

/** Spoiled pieces of a finished job made anew, as a job of its own. */
export const remake = async (options: RemakeOptions, outlet: Outlet): Promise<number> => {
  const outFault = await faultOfOut(options.out);
  if (outFault) return refuse([outFault], "Nothing was made", outlet);
  const shown = showProgress(outlet);
  let attempt: Attempt | undefined;
  try {
    const own = await attemptAt(options.out, options.replace === true);
    attempt = own;
    const { job, findings } = await remakeJob(
      (name) => fileOf(options.job, name),
      options.spoiled,
      (name) => own.destination(name),
      { effort: options.effort, onProgress: shown.onProgress },
    );
    shown.stop();
    if (!job) return refuse(findings, "Nothing was made", outlet);
    await own.publish();
    for (const finding of findings) outlet.event("finding", finding);
    for (const words of findingsInWords(findings)) outlet.say(words);
    const { sheets, pieces } = totalsOf(job);
    outlet.event("remade", { job: job.job, remakes: job.remakes?.job, sheets, pieces, out: options.out });
    outlet.tell(
      `Job ${job.job} makes ${plural(pieces, "piece")} of job ${job.remakes?.job} anew on ${plural(sheets, "sheet")}: ${options.out}`,
    );
    return EXIT.done;
  } catch (error) {
    if (error instanceof HoldsAnotherJob)
      return refuse([say("folder-holds-another-job", { file: options.out }, {})], "Nothing was made", outlet);
    throw error;
  } finally {
    await attempt?.discard();
    shown.stop();
  }
};
