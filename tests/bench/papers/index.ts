// npm run bench:papers [-- --json]: every paper of a job of 500 orders, each run in a fresh process. Run with a seed it is that process.
import { spawnSync } from "node:child_process";
import { createHash } from "node:crypto";
import { fileURLToPath } from "node:url";
import { parseArgs } from "node:util";
import { type Job, writeDocket } from "@kitforme/files";
import { estimateJson, estimateOf, writeAssembly, writeBenchPage, writeSlips, writeTicket } from "@kitforme/papers";
import { atMost, type Figure, machine, median } from "../bleed/measure.ts";
import { bigJob } from "./big-job.ts";

const [ORDERS, SEED, RUNS] = [500, 14, 3];
const PRICES = { currency: "EUR", sheet: { card: 0.42 }, side: 0.18, minute: 0.9, layout: 6, order: 1.5 };
/** Megabytes of heap that a run may take: within them the collector works as on a machine that has no more. */
const HEAP = 300;
const me = fileURLToPath(import.meta.url);

/** One run: seconds of processor per paper, of the wall in all, the highest resident size in MB, and a hash of every byte. */
interface Run {
  readonly papers: Readonly<Record<string, { readonly seconds: number; readonly bytes: number }>>;
  readonly seconds: number;
  readonly wall: number;
  readonly memory: number;
  readonly checksum: string;
  readonly pieces: number;
  readonly sheets: number;
}

const PAPERS: Readonly<Record<string, (job: Job) => Promise<readonly Uint8Array[]>>> = {
  docket: async (job) => (await writeDocket(job)).map(({ bytes }) => bytes),
  slips: async (job) => some(await writeSlips(job)),
  "assembly sheets": async (job) => some(await writeAssembly(job)),
  "bench page": (job) => Promise.resolve([writeBenchPage(job)]),
  "job ticket": (job) => Promise.resolve([writeTicket(job)]),
  estimate: (job) => {
    const sheets = job.sheets.map(({ sheet }) => sheet);
    const estimate = estimateOf(
      sheets,
      job.orders.map(({ order }) => order),
      PRICES,
    );
    return Promise.resolve([Buffer.from(JSON.stringify(estimateJson(job.job, estimate)))]);
  },
};
const some = (bytes: Uint8Array | undefined): Uint8Array[] => (bytes ? [bytes] : []);

const runOnce = async (seed: number): Promise<Run> => {
  const job = await bigJob(ORDERS, seed);
  const hash = createHash("sha256");
  const papers: Record<string, { seconds: number; bytes: number }> = {};
  const start = performance.now();
  for (const [name, write] of Object.entries(PAPERS)) {
    const before = process.cpuUsage();
    const files = await write(job);
    const { user, system } = process.cpuUsage(before);
    for (const bytes of files) hash.update(bytes);
    papers[name] = { seconds: (user + system) / 1e6, bytes: files.reduce((sum, { length }) => sum + length, 0) };
  }
  return {
    papers,
    seconds: Object.values(papers).reduce((sum, { seconds }) => sum + seconds, 0),
    wall: (performance.now() - start) / 1000,
    memory: process.resourceUsage().maxRSS / 1000,
    checksum: hash.digest("hex").slice(0, 16),
    pieces: job.sheets.reduce((sum, { sheet }) => sum + sheet.placed.length, 0),
    sheets: job.sheets.length,
  };
};

const fresh = (seed: number): Run => {
  const { status, stdout, stderr } = spawnSync(
    process.execPath,
    [`--max-old-space-size=${HEAP}`, "--import", "tsx", "--conditions=@kitforme/source", me, "--seed", String(seed)],
    { encoding: "utf8" },
  );
  if (status !== 0) throw new Error(stderr);
  return JSON.parse(stdout) as Run;
};

const { values } = parseArgs({ options: { json: { type: "boolean", default: false }, seed: { type: "string" } } });
if (values.seed !== undefined) process.stdout.write(JSON.stringify(await runOnce(Number(values.seed))));
else {
  const runs = Array.from({ length: RUNS }, () => fresh(SEED));
  const [first] = runs as [Run, ...Run[]];
  const figures: Figure[] = [
    atMost(`papers of ${ORDERS} orders, processor`, median(runs.map((r) => r.seconds)), "s", 20),
    atMost(
      `papers of ${ORDERS} orders, heap bounded to ${HEAP}, the process with its job`,
      median(runs.map((r) => r.memory)),
      "MB",
      500,
    ),
    ...Object.keys(first.papers).map((name) => ({
      name,
      value: Number(median(runs.map((r) => r.papers[name]?.seconds ?? NaN)).toFixed(2)),
      unit: "s CPU",
    })),
  ];
  const same = runs.every(({ checksum }) => checksum === first.checksum);
  figures.push({ name: "runs with other bytes", value: same ? 0 : 1, unit: "", goal: "0", met: same });
  if (figures.some(({ met }) => met === false)) process.exitCode = 1;
  if (values.json) process.stdout.write(`${JSON.stringify({ machine: machine(), figures, left: [] })}\n`);
  else {
    process.stdout.write(
      `${machine()}\nseed ${SEED}, ${first.pieces} pieces on ${first.sheets} sheets, median of ${RUNS}, checksum ${first.checksum}\n`,
    );
    for (const { name, value, unit, goal, met } of figures) {
      const bytes = first.papers[name]?.bytes;
      const size = bytes === undefined ? "" : `, ${(bytes / 1e6).toFixed(1)} MB`;
      process.stdout.write(
        `${met === false ? "MISSED " : "       "}${name}: ${value} ${unit}${size}${goal === undefined ? "" : `, goal ${goal}`}\n`,
      );
    }
  }
}
