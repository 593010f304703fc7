// Sheets a minute of one worker, and of two that share its gang: npm run bench:spread [-- --kits 60] [--machines 2] [--json]
// The workers are the built command, in processes of their own; the kits are the demo's. The wall's seconds are those of this
// machine, with whatever else it does; seconds of processor of all the workers' processes and threads stand beside them.
import { spawn } from "node:child_process";
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as wait } from "node:timers/promises";
import { parseArgs } from "node:util";
import { keysOf, statusOf, submitOrders } from "@kitforme/queue";
import { Redis } from "ioredis";
import { BIN, DEMO, hashes } from "../../support/command.ts";
import { redisHere } from "../../support/redis-server.ts";
import { machine } from "../bleed/measure.ts";

const { values } = parseArgs({
  options: {
    kits: { type: "string", default: "60" },
    machines: { type: "string", default: "1,2" },
    json: { type: "boolean", default: false },
  },
});
const COPIES = Number(values.kits);
/** How much faster two are to be than one, on two processors that nobody else uses. */
const GOAL = 1.7;

interface Run {
  readonly workers: number;
  readonly sheets: number;
  /** From the claim of the gang to its end, and of them those in which sheets are written. */
  readonly seconds: number;
  readonly writing: number;
  readonly perMinute: number;
  /** Seconds of processor of all processes and threads of the workers, over the whole. */
  readonly processor: number;
  /** Processors in use on average. */
  readonly cores: number;
}

/** Seconds of processor of some processes and all their children so far (Linux: ticks of 10 ms). */
const processorOf = (roots: readonly number[]): number => {
  const stats = readdirSync("/proc").flatMap((pid) => {
    try {
      if (!/^\d+$/.test(pid)) return [];
      const text = readFileSync(`/proc/${pid}/stat`, "utf8");
      const [, parent, ...more] = text.slice(text.lastIndexOf(")") + 2).split(" ");
      // Of the fields after state and parent: user, system, and both of children that have ended.
      return [
        { pid: Number(pid), parent: Number(parent), ticks: more.slice(9, 13).reduce((a, b) => a + Number(b), 0) },
      ];
    } catch {
      return [];
    }
  });
  const tree = new Set(roots);
  for (let before = 0; before < tree.size; ) {
    before = tree.size;
    for (const { pid, parent } of stats) if (tree.has(parent)) tree.add(pid);
  }
  return stats.reduce((sum, { pid, ticks }) => sum + (tree.has(pid) ? ticks : 0), 0) / 100;
};

const root = mkdtempSync(join(tmpdir(), "kitforme-spread-"));
const { url, child: server } = await redisHere();
const redis = new Redis(url);
const texts = Array.from({ length: COPIES }, (_, i) => ({ boat: `Boat ${i + 1}` }));
const content = { order: "B-1", lines: [{ kit: "harbour-lantern", quantity: COPIES, texts }] };
const order = { name: "B-1", file: "order.json", text: JSON.stringify(content), content };

const measure = async (count: number): Promise<Run & { files: Record<string, string> }> => {
  const keys = keysOf(`bench-${count}`);
  const out = join(root, `out-${count}`);
  mkdirSync(out);
  const house = ["--shop", join(DEMO, "shop.json"), "--kits", join(DEMO, "kits"), "--out", out];
  const queue = ["--redis", url, "--prefix", keys.prefix];
  const workers = Array.from({ length: count }, () =>
    spawn(process.execPath, [BIN, "work", "--json", ...house, ...queue], { stdio: ["ignore", "ignore", "inherit"] }),
  );
  const pids = workers.map(({ pid }) => pid as number);
  await wait(3_000);
  await submitOrders(redis, keys, [order], { effort: "quick", now: true });
  const marks = new Map<string, { readonly at: number; readonly processor: number }>();
  const mark = (what: string): void => {
    if (!marks.has(what)) marks.set(what, { at: performance.now(), processor: processorOf(pids) });
  };
  for (;;) {
    const [now] = await statusOf(redis, keys, { order: "B-1" });
    if (now?.state === "making") mark("making");
    if ((now?.progress as { phase?: string } | undefined)?.phase === "write") mark("write");
    if (now?.answer) {
      if (now.answer.end !== "made") throw new Error(JSON.stringify(now.answer));
      mark("made");
      const { folder } = now.answer;
      for (const worker of workers) worker.kill("SIGTERM");
      await Promise.all(workers.map((one) => new Promise((done) => void one.once("exit", done))));
      const [from, write, to] = ["making", "write", "made"].map((what) => marks.get(what));
      if (!from || !write || !to) throw new Error("the gang was made between two looks");
      const { sheets } = JSON.parse(readFileSync(join(folder, "job.json"), "utf8")) as { sheets: unknown[] };
      const seconds = (to.at - from.at) / 1_000;
      const processor = to.processor - from.processor;
      return {
        workers: count,
        sheets: sheets.length,
        seconds,
        writing: (to.at - write.at) / 1_000,
        perMinute: (sheets.length / seconds) * 60,
        processor,
        cores: processor / seconds,
        files: hashes(folder),
      };
    }
    await wait(50);
  }
};

const runs = [];
for (const count of values.machines.split(",").map(Number)) runs.push(await measure(count));
redis.disconnect();
server.kill("SIGKILL");
rmSync(root, { recursive: true, force: true });
const [one, two] = runs;
const same = runs.every(({ files }) => JSON.stringify(files) === JSON.stringify(one?.files));
if (!same) throw new Error("the folders differ");
const ratio = one && two ? two.perMinute / one.perMinute : undefined;
const writing = one && two ? one.writing / two.writing : undefined;
if (values.json) {
  const figures = runs.map(({ files: _files, ...run }) => run);
  console.log(JSON.stringify({ machine: machine(), kits: COPIES, runs: figures, ratio, writing, goal: GOAL }));
} else {
  for (const r of runs)
    console.log(
      `${r.workers} worker${r.workers > 1 ? "s" : ""}: ${r.sheets} sheets in ${r.seconds.toFixed(1)} s, of them ${r.writing.toFixed(1)} s writing; ` +
        `${r.perMinute.toFixed(1)} sheets a minute; ${r.processor.toFixed(1)} s of processor, ${r.cores.toFixed(2)} in use`,
    );
  if (ratio !== undefined && writing !== undefined)
    console.log(
      `${ratio.toFixed(2)} times the sheets (goal ${GOAL}), ${writing.toFixed(2)} times while sheets are written; the folders are byte-equal`,
    );
}
