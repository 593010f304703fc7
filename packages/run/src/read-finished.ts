import { createHash } from "node:crypto";
import { type Finding, type MadeJob, readMadeJob } from "@kitforme/kit";
import type { ReadJobFile } from "./fit.ts";
import { say } from "./words.ts";

/** A finished job by its manifest. Findings where the folder holds none that can be read. */
export const readFinished = async (
  read: ReadJobFile,
): Promise<{ readonly value?: MadeJob; readonly manifest?: Uint8Array; readonly findings: readonly Finding[] }> => {
  const manifest = await read("job.json");
  if (!manifest) return { findings: [say("remake-unfinished", {}, {})] };
  return { ...readMadeJob(new TextDecoder().decode(manifest)), manifest };
};

/** What a finished job recorded of its input, as its manifest has it. Findings where it is not what the job wrote. */
export const recordOf = async (
  read: ReadJobFile,
  job: MadeJob,
): Promise<{ readonly zip?: Uint8Array; readonly findings: readonly Finding[] }> => {
  const zip = await read("job.input.zip");
  const known = job.hashes.get("job.input.zip");
  if (zip && createHash("sha256").update(zip).digest("hex") === known) return { zip, findings: [] };
  return { findings: [say("remake-no-input", { file: "job.input.zip" }, {})] };
};
