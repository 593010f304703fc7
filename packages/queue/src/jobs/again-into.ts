import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { type Effort, jobFolder, remake, reprint, totalsOf } from "@kitforme/run";
import type { Again } from "../keys.ts";
import type { RunEnd, RunOptions } from "./print-run.ts";
import { patient } from "./patient.ts";

/** Something of a finished job to be printed again, from what it recorded in its folder. */
export interface AgainTask {
  readonly kind: "again";
  /** The name that it has on the queue. */
  readonly name: string;
  readonly again: Again;
  /** The folder that holds at least the job's manifest and its record. */
  readonly from: string;
  readonly effort: Effort;
  readonly into: string;
  readonly lanes: number;
  readonly parts: string;
  readonly turn: number;
}

/** A file of a finished job's folder; undefined when folder or file is not there. All else is the disk's fault and is thrown. */
const fileIn =
  (folder: string) =>
  (name: string): Promise<Uint8Array | undefined> =>
    readFile(join(folder, name)).catch((error: NodeJS.ErrnoException) => {
      if (error.code === "ENOENT" || error.code === "ENOTDIR") return undefined;
      throw error;
    });

/** Prints something of a finished job again, into a folder of its own. What cannot be is refused with findings. */
export const againInto = async (
  { name, again: { kind, order, file, spoiled = [] }, from, effort, into }: AgainTask,
  { onTrouble, ...running }: RunOptions,
): Promise<RunEnd> => {
  const out = onTrouble ? patient(jobFolder(into), onTrouble) : jobFolder(into);
  const options = { effort, ...running };
  const { job, findings } =
    kind === "remake"
      ? await remake(fileIn(from), spoiled, () => out, options)
      : await reprint(fileIn(from), order, () => out, { ...options, file });
  if (!job) return { refused: [{ order: name, findings }] };
  const { sheets, layouts, yield: share } = totalsOf(job);
  return { made: { job: job.job, orders: [name], findings, sheets, layouts, yield: share }, refused: [] };
};
