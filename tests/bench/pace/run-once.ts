// One job in a process of its own, by the packages as they were built: `run-once.ts FOLDER` with shop, kits and order in it.
import { createHash } from "node:crypto";
import { readdir, readFile } from "node:fs/promises";
import { join } from "node:path";
import { besideFile, jobFolder, kitsIn, run } from "@kitforme/run";

const folder = process.argv[2] as string;
const named = async (name: string) => {
  const file = join(folder, name);
  return { file, text: await readFile(file, "utf8"), read: besideFile(file) };
};
const cpu = (): number => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1e6;
};
let [began, cpuThen, ended, cpuAt] = [0, 0, 0, 0];
const out = join(folder, "out");
const { job, findings } = await run(
  { shop: await named("shop.json"), orders: [await named("order.json")] },
  {
    kits: kitsIn(join(folder, "kits")),
    out: () => {
      const to = jobFolder(out);
      return {
        ...to,
        open: async () => {
          [began, cpuThen] = [performance.now(), cpu()];
          await to.open();
        },
        put: async (name, bytes) => {
          // The first paper comes when every sheet is written.
          if (ended === 0 && name.startsWith("job.d")) [ended, cpuAt] = [performance.now(), cpu()];
          await to.put(name, bytes);
        },
      };
    },
  },
  { effort: "quick" },
);
if (!job) throw new Error(JSON.stringify(findings.slice(0, 3)));
const hash = createHash("sha256");
for (const name of (await readdir(out)).sort()) hash.update(await readFile(join(out, name)));
process.stdout.write(
  JSON.stringify({
    sheets: job.sheets.length,
    places: job.sheets.reduce((sum, { sheet }) => sum + sheet.placed.length, 0),
    wall: (ended - began) / 1000,
    cpu: cpuAt - cpuThen,
    whole: cpu(),
    memory: process.resourceUsage().maxRSS / 1024,
    checksum: hash.digest("hex").slice(0, 16),
  }),
);
process.exit(0);
