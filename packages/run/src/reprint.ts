import type { Job } from "@kitforme/files";
import type { ReadJobFile } from "./fit.ts";
import { readFinished, recordOf } from "./read-finished.ts";
import { readRecorded } from "./read-recorded.ts";
import { orderNamedIn } from "./record-input.ts";
import { type Options, type Outcome, run } from "./run.ts";
import { say } from "./words.ts";
import type { Destination } from "./world.ts";

/** See `reprint` of the front door. */
export const reprint = async (
  read: ReadJobFile,
  order: string,
  out: (job: string) => Destination,
  { file, ...options }: Options & { readonly file?: string } = {},
): Promise<Outcome> => {
  const { value: job, manifest, findings } = await readFinished(read);
  if (!job || !manifest) return { findings };
  const record = await recordOf(read, job);
  if (!record.zip) return { findings: record.findings };
  const { input, kits } = readRecorded(record.zip);
  const mine = input.orders.find(({ text }) => orderNamedIn(text) === order.normalize("NFC"));
  if (!mine) return { findings: [say("reprint-unknown", {}, { order, job: job.job })] };
  // Made by itself the first time: then it is the same job, and what is written of its gang is the same too.
  const { gang } = JSON.parse(new TextDecoder().decode(manifest)) as { readonly gang?: Job["gang"] };
  const alone = input.orders.length === 1;
  const again = alone ? gang : { closed: "reprint", why: `printed again from job ${job.job}` };
  return run(
    { shop: input.shop, orders: [file === undefined ? mine : { ...mine, file }] },
    { kits, out },
    { ...options, ...(again ? { gang: again } : {}) },
  );
};
