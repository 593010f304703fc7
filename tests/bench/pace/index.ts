// npm run bench:pace [-- --json] [--only marks,full,share,memory,peer,rush] [--sheets 40] [--most 1000]
// Jobs of personalised sheets, each in a process of its own, by the packages as they are built.
import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { parseArgs } from "node:util";
import { atMost, type Figure, machine, median, round } from "../bleed/measure.ts";
import { PLACES, personalJob } from "./personal-job.ts";
import { plainEmbedding } from "./peer.ts";
import { rushAgain, rushOrder } from "./rush.ts";

const { values } = parseArgs({
  options: {
    json: { type: "boolean", default: false },
    only: { type: "string" },
    sheets: { type: "string", default: "40" },
    most: { type: "string", default: "1000" },
  },
});
const [SEED, RUNS, CORES] = [12, 3, 2];
const SHEETS = Number(values.sheets);
const say = (line: string): void => void process.stderr.write(`${line}\n`);

/** What `run-once.ts` prints: seconds, and MiB of the process at its highest. */
interface Run {
  readonly sheets: number;
  readonly places: number;
  readonly wall: number;
  readonly cpu: number;
  /** Seconds of processor of the whole process: start, layout and papers too. */
  readonly whole: number;
  readonly memory: number;
  readonly checksum: string;
}

const once = async (sheets: number, proof: string, files = "single"): Promise<Run> => {
  const folder = mkdtempSync(join(tmpdir(), "kitforme-pace-"));
  try {
    await personalJob(folder, { sheets, proof, seed: SEED, files });
    const child = fileURLToPath(new URL("./run-once.ts", import.meta.url));
    const { status, stdout, stderr } = spawnSync(process.execPath, ["--import", "tsx", child, folder], {
      encoding: "utf8",
    });
    if (status !== 0) throw new Error(stderr);
    const run = JSON.parse(stdout) as Run;
    if (run.places !== run.sheets * PLACES) throw new Error(`${run.places} places on ${run.sheets} sheets`);
    say(
      `${sheets} sheets, proof ${proof}, files ${files}: ${run.cpu.toFixed(1)} s CPU, ${run.wall.toFixed(1)} s, ${run.memory.toFixed(0)} MiB`,
    );
    return run;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
};

const figures: Figure[] = [];
const left: string[] = [];
const atLeast = (name: string, value: number, unit: string, least: number): Figure => ({
  name,
  value: round(value),
  unit,
  goal: `>= ${least}`,
  met: value >= least,
});

/** Sheets a minute by the clock, and what the processor alone would allow on two cores: on a busy machine only the second says something. */
const pace = async (proof: string, sheets: number, least: number): Promise<void> => {
  const runs: Run[] = [];
  for (let i = 0; i < RUNS; i++) runs.push(await once(sheets, proof));
  const name = `sheets a minute, proof ${proof}`;
  figures.push(
    atLeast(
      `${name}, by processor on ${CORES} cores`,
      median(runs.map((r) => (60 * CORES * r.sheets) / r.cpu)),
      "/min",
      least,
    ),
    { name: `${name}, by the clock`, value: round(median(runs.map((r) => (60 * r.sheets) / r.wall))), unit: "/min" },
    {
      name: `processor a sheet, proof ${proof}`,
      value: round(median(runs.map((r) => r.cpu / r.sheets))),
      unit: "s CPU",
    },
  );
  const [first] = runs as [Run];
  const same = runs.every(({ checksum }) => checksum === first.checksum);
  figures.push({ name: `runs with other bytes, proof ${proof}`, value: same ? 0 : 1, unit: "", goal: "0", met: same });
  say(`checksum ${first.checksum}`);
};

const PARTS: Readonly<Record<string, () => Promise<void>>> = {
  marks: () => pace("marks", SHEETS, 75),
  full: () => pace("full", Math.max(10, SHEETS >> 1), 40),
  /** What the proof costs of the whole job: the same job without any, taken in turns with it. */
  async share() {
    const sheets = Math.max(10, SHEETS >> 1);
    const shares: number[] = [];
    for (let i = 0; i < RUNS; i++) {
      const [off, full] = [await once(sheets, "off"), await once(sheets, "full")];
      shares.push((100 * (full.whole - off.whole)) / full.whole);
    }
    figures.push(atMost("share of the job's processor that proof full takes", median(shares), "%", 35));
  },
  async memory() {
    for (const files of ["single", "whole"])
      for (const sheets of [10, 100, 1_000]) {
        const name = `memory at ${sheets} sheets, files ${files}`;
        if (sheets > Number(values.most)) left.push(name);
        else figures.push(atMost(name, (await once(sheets, "marks", files)).memory, "MiB", 1024));
      }
  },
  async peer() {
    const folder = mkdtempSync(join(tmpdir(), "kitforme-pace-"));
    try {
      await personalJob(folder, { sheets: 4, proof: "marks", seed: SEED });
      const png = readFileSync(join(folder, "kits/card/card.png"));
      const { lines } = JSON.parse(readFileSync(join(folder, "order.json"), "utf8")) as {
        lines: readonly { texts: readonly { name: string }[] }[];
      };
      const names = lines.flatMap(({ texts }) => texts.map(({ name }) => name));
      const peer = round(await plainEmbedding(png, names, 4));
      const ours = round((await once(SHEETS, "marks").then((r) => r.cpu / r.sheets)) as number);
      figures.push({
        name: "a sheet with its cut files, read back, tried and drawn; peer: the same pages by plain embedding, print PDF alone",
        value: ours,
        unit: "s CPU",
        peer,
        ratio: round(peer / ours),
      });
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  },
  rush() {
    const runs = Array.from({ length: RUNS }, () => rushOrder());
    figures.push(
      atMost("a rush order of one demo kit, from start of process to its end", median(runs), "s CPU", 4),
      atMost("the same, its pieces in the cache", median(rushAgain(RUNS)), "s CPU", 4),
    );
    return Promise.resolve();
  },
};

const wanted = values.only?.split(",") ?? Object.keys(PARTS);
left.push(...Object.keys(PARTS).filter((name) => !wanted.includes(name)));
for (const name of wanted) {
  try {
    const part = PARTS[name];
    if (!part) throw new Error("no such part");
    await part();
  } catch (error) {
    // One part that cannot run here takes no other with it; the object still says so.
    left.push(`${name}: ${error instanceof Error ? error.message : String(error)}`);
    process.exitCode = 1;
  }
}
if (figures.some(({ met }) => met === false)) process.exitCode = 1;
if (values.json) process.stdout.write(`${JSON.stringify({ machine: machine(), figures, left })}\n`);
else {
  process.stdout.write(`${machine()}\nseed ${SEED}, median of ${RUNS}\n`);
  for (const { name, value, unit, peer, ratio, goal, met } of figures) {
    const beside = ratio === undefined ? "" : `, peer ${peer} (${ratio}x)`;
    process.stdout.write(
      `${met === false ? "MISSED " : "       "}${name}: ${value} ${unit}${beside}${goal === undefined ? "" : `, goal ${goal}`}\n`,
    );
  }
  for (const name of left) process.stdout.write(`left: ${name}\n`);
}
