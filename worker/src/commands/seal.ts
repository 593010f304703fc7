import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { type Finding, SUMS, sumsIn } from "@kitforme/run";
import { EXIT } from "../exit.ts";
import { unreadable } from "../files.ts";
import type { Outlet } from "../outlet.ts";
import { refuse } from "../refuse.ts";
import type { Stop } from "../stop.ts";
import { plural } from "../words.ts";
import { writeFiles } from "../write-files.ts";

/** Writes the check sums of kits into their folders, so that whoever makes them sees what was damaged on its way. */
export const seal = async (folders: readonly string[], outlet: Outlet, stop: Stop): Promise<number> => {
  const sealed: { readonly folder: string; readonly sums: string }[] = [];
  const faults: Finding[] = [];
  for (const folder of folders) {
    try {
      await readFile(join(folder, "kit.json"));
      sealed.push({ folder, sums: await sumsIn(folder) });
    } catch (error) {
      faults.push(unreadable(join(folder, "kit.json"), "The kit.json of the folder", error));
    }
  }
  if (faults.length > 0) return refuse(faults, "Nothing was written", outlet);
  const files = sealed.map(({ folder, sums }) => ({ path: join(folder, SUMS), bytes: Buffer.from(sums) }));
  await writeFiles(files, stop);
  for (const { folder, sums } of sealed) {
    const count = sums.split("\n").length - 1;
    outlet.event("sealed", { folder, files: count });
    outlet.tell(`${join(folder, SUMS)}: ${plural(count, "file")}.`);
  }
  return EXIT.done;
};
