import { type Job, writeDocket } from "@kitforme/files";
import type { Prices } from "@kitforme/kit";
import { estimateJson, estimateOf, writeAssembly, writeBenchPage, writeSlips, writeTicket } from "@kitforme/papers";

/** A paper of the whole job, by the name it has in the job folder. */
export interface Paper {
  readonly name: string;
  readonly bytes: Uint8Array;
}

/** Every paper of a job: what goes along with its sheets to press, cutter and packing bench. One after the other, so that no two are held. */
export async function* papersOf(job: Job, prices: Prices | undefined): AsyncGenerator<Paper> {
  yield* await writeDocket(job);
  const slips = await writeSlips(job);
  if (slips) yield { name: "job.slips.pdf", bytes: slips };
  const assembly = await writeAssembly(job);
  if (assembly) yield { name: "job.assembly.pdf", bytes: assembly };
  yield { name: "job.html", bytes: writeBenchPage(job) };
  yield { name: "job.xjdf", bytes: writeTicket(job) };
  const sheets = job.sheets.map(({ sheet }) => sheet);
  const names = job.orders.map(({ order }) => order);
  yield json("job.estimate.json", estimateJson(job.job, estimateOf(sheets, names, prices)));
}

const json = (name: string, value: object): Paper => ({
  name,
  bytes: new TextEncoder().encode(`${JSON.stringify(value, null, 1)}\n`),
});
