import { type Job, writeDocket } from "@kitforme/files";
import type { Prices } from "@kitforme/kit";
import { estimateJson, estimateOf, writeAssembly, writeBenchPage, writeSlips, writeTicket } from "@kitforme/papers";

/** A paper of the whole job, by the name it has in the job folder. */
export interface Paper {
  readonly name: string;
  readonly bytes: Uint8Array;
}

/** Every paper of a job: what goes along with its sheets to press, cutter and packing bench. */
export const papersOf = async (job: Job, prices: Prices | undefined): Promise<Paper[]> => {
  const sheets = job.sheets.map(({ sheet }) => sheet);
  const estimate = estimateOf(
    sheets,
    job.orders.map(({ order }) => order),
    prices,
  );
  const slips = await writeSlips(job);
  const assembly = await writeAssembly(job);
  return [
    ...(await writeDocket(job)),
    ...(slips ? [{ name: "job.slips.pdf", bytes: slips }] : []),
    ...(assembly ? [{ name: "job.assembly.pdf", bytes: assembly }] : []),
    { name: "job.html", bytes: writeBenchPage(job) },
    { name: "job.xjdf", bytes: writeTicket(job) },
    json("job.estimate.json", estimateJson(job.job, estimate)),
  ];
};

const json = (name: string, value: object): Paper => ({
  name,
  bytes: new TextEncoder().encode(`${JSON.stringify(value, null, 1)}\n`),
});
