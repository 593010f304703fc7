import { join } from "node:path";
import { fitJob } from "@kitforme/run";
import { EXIT } from "../exit.ts";
import { faultOfOut } from "../fault-of-out.ts";
import { fileOf } from "../file-of.ts";
import { readNamed } from "../files.ts";
import type { Outlet } from "../outlet.ts";
import type { Stop } from "../stop.ts";
import { refuse } from "../refuse.ts";
import { findingsInWords } from "../words.ts";
import { writeFiles } from "../write-files.ts";

export interface FitOptions {
  readonly job: string;
  readonly sheet: number;
  readonly seen: string;
  readonly out: string;
}

/** Cut files of one sheet moved to where the sheet was printed, by the marks as a camera read them. */
export const fit = async ({ job, sheet, seen, out }: FitOptions, outlet: Outlet, stop: Stop): Promise<number> => {
  const marks = await readNamed(seen, "The file of the marks");
  const outFault = await faultOfOut(out);
  const faults = [...("finding" in marks ? [marks.finding] : []), ...(outFault ? [outFault] : [])];
  if ("finding" in marks || faults.length > 0) return refuse(faults, "No cut file was written", outlet);
  const { value, findings } = await fitJob((name) => fileOf(job, name), sheet, marks.text);
  if (!value) return refuse(findings, "No cut file was written", outlet);
  for (const finding of findings) outlet.event("finding", finding);
  for (const words of findingsInWords(findings)) outlet.say(words);
  await writeFiles(
    value.files.map(({ name, bytes }) => ({ path: join(out, name), bytes })),
    stop,
  );
  const { model, residuals, worst, turn, scale, shift, files } = value;
  const names = files.map(({ name }) => name);
  outlet.event("fitted", { sheet, model, residuals, worst, turn, scale, shift, files: names });
  outlet.tell(
    `Sheet ${sheet} lies ${shift[0].toFixed(2)} mm to the right, ${shift[1].toFixed(2)} mm up, turned by ${turn.toFixed(3)} degrees, at ${(scale * 100).toFixed(2)} %.`,
  );
  outlet.tell(`Fit (${model}): no mark is off by more than ${worst.toFixed(3)} mm. Written: ${names.join(", ")}.`);
  return EXIT.done;
};
