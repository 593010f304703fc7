import { type Attempt, attemptAt, type Destination, HoldsAnotherJob, type Outcome } from "@kitforme/run";
import { EXIT } from "../exit.ts";
import { say } from "../faults.ts";
import type { Outlet } from "../outlet.ts";
import { refuse } from "../refuse.ts";
import type { Stop } from "../stop.ts";

interface Folder {
  readonly out: string;
  /** Whether another job's finished folder may be replaced. */
  readonly replace: boolean;
}

type Made = Outcome & { readonly job: NonNullable<Outcome["job"]> };

/**
 * Makes a job into a folder, whole or not at all: it is written beside its place and put there when it is done. The frame of
 * every command that makes one.
 *
 * @param task makes the job into the destination; its findings are the answer when there is none
 * @param report says what was made
 */
export const intoFolder = async (
  { out, replace }: Folder,
  task: (destination: (job: string) => Destination) => Promise<Outcome>,
  report: (made: Made) => void,
  outlet: Outlet,
  stop: Stop,
): Promise<number> => {
  let attempt: Attempt | undefined;
  const nothing = "nothing was written to the job folder.";
  stop.leaves(nothing);
  try {
    const own = await attemptAt(out, replace);
    attempt = own;
    stop.leaves(nothing, own.folder, own.parents);
    const outcome = await task((job) => own.destination(job));
    if (!outcome.job) return refuse(outcome.findings, "Nothing was made", outlet);
    await stop.whole(
      `the job was being moved to ${out}, which is finished only if it holds job.json: make it again.`,
      () => own.publish(),
    );
    report({ ...outcome, job: outcome.job });
    return EXIT.done;
  } catch (error) {
    if (error instanceof HoldsAnotherJob)
      return refuse([say("folder-holds-another-job", { file: out }, {})], "Nothing was made", outlet);
    throw error;
  } finally {
    await attempt?.discard();
  }
};
