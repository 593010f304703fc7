// Sheets a minute of one worker and of two over a night's gangs: npm run bench:spread [-- --kits 30 --gangs 12 --workers 1,2 --json]
// In the first gangs V8 still compiles what a night's other gangs find compiled: 4 gangs are mostly that. --flags are V8's, for the workers.
// --gangs 1 is one gang that two share: preparing and laying out are its maker's alone.
// --apart has two workers also at two queues, half of the gangs each, with nothing in common but the machine: what sharing costs.
// The workers are the built command, in processes of their own; the kits are the demo's. The wall's seconds are those of this
// machine, with whatever else it does; seconds of processor of all the workers' processes and threads stand beside them.
import { type ChildProcess, spawn } from "node:child_process";
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { text } from "node:stream/consumers";
import { setTimeout as wait } from "node:timers/promises";
import { parseArgs } from "node:util";
import { keysOf, statusOf, submitOrders } from "@kitforme/queue";
import { Redis } from "ioredis";
import { BIN, DEMO, hashes } from "../../support/command.ts";
import { redisHere } from "../../support/redis-server.ts";
import { type Figure, machine, round } from "../bleed/measure.ts";

const { values } = parseArgs({
  options: {
    kits: { type: "string", default: "30" },
    gangs: { type: "string", default: "12" },
    flags: { type: "string", default: "" },
    workers: { type: "string", default: "1,2" },
    apart: { type: "boolean", default: false },
    json: { type: "boolean", default: false },
  },
});
const [COPIES, GANGS] = [Number(values.kits), Number(values.gangs)];
const FLAGS = values.flags.split(" ").filter(Boolean);
/** How much faster two are to be than one, on two processors that nobody else uses. */
const GOAL = 1.7;

interface Run {
  readonly workers: number;
  readonly houses: number;
  readonly sheets: number;
  /** From the first claim of a gang to the end of the last. */
  readonly seconds: number;
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

/** Ended with the bench, however it ends. */
const children: ChildProcess[] = [];
process.once("exit", () => {
  for (const child of children) child.kill("SIGKILL");
});
for (const signal of ["SIGTERM", "SIGINT"] as const) process.once(signal, () => process.exit(1));

const root = mkdtempSync(join(tmpdir(), "kitforme-spread-"));
const { url, child: server } = await redisHere();
children.push(server);
const redis = new Redis(url);
const orders = Array.from({ length: GANGS }, (_, g) => {
  const name = `B-${g + 1}`;
  const texts = Array.from({ length: COPIES }, (_name, i) => ({ boat: `Boat ${g * COPIES + i + 1}` }));
  const content = { order: name, lines: [{ kit: "harbour-lantern", quantity: COPIES, texts }] };
  return { name, file: `${name}.json`, text: JSON.stringify(content), content };
});

/** One queue and its folder of jobs. */
interface House {
  readonly keys: ReturnType<typeof keysOf>;
  readonly out: string;
  readonly orders: typeof orders;
}

/** @param houses queues that share the workers and the gangs evenly */
const measure = async (count: number, houses = 1): Promise<Run & { files: Record<string, string>[] }> => {
  const all = Array.from({ length: houses }, (_, h): House => {
    const out = join(root, `out-${count}-${houses}-${h}`);
    mkdirSync(out);
    return { keys: keysOf(`bench-${count}-${houses}-${h}`), out, orders: orders.filter((_o, g) => g % houses === h) };
  });
  const workers = Array.from({ length: count }, (_, w) => {
    const { keys, out } = all[w % houses] as House;
    const house = ["--shop", join(DEMO, "shop.json"), "--kits", join(DEMO, "kits"), "--out", out];
    const queue = ["--redis", url, "--prefix", keys.prefix];
    return spawn(process.execPath, [...FLAGS, BIN, "work", "--json", ...house, ...queue], {
      stdio: ["ignore", "ignore", "inherit"],
    });
  });
  children.push(...workers);
  const pids = workers.map(({ pid }) => pid as number);
  await wait(3_000);
  // Each a gang of its own, whatever the shop's rules are.
  for (const { keys, orders: own } of all)
    for (const order of own) await submitOrders(redis, keys, [order], { effort: "quick", now: true });
  let start: { readonly at: number; readonly processor: number } | undefined;
  const mark = () => ({ at: performance.now(), processor: processorOf(pids) });
  for (;;) {
    const states = (await Promise.all(all.map(({ keys }) => statusOf(redis, keys)))).flat();
    if (states.some(({ state }) => state === "making")) start ??= mark();
    if (start && states.length === GANGS && states.every(({ answer }) => answer)) {
      const end = mark();
      for (const worker of workers) worker.kill("SIGTERM");
      await Promise.all(workers.map((one) => new Promise((done) => void one.once("exit", done))));
      const folders = orders.map(({ name }) => {
        const answer = states.find(({ order }) => order === name)?.answer;
        if (answer?.end !== "made") throw new Error(JSON.stringify(answer));
        return answer.folder;
      });
      const sheets = folders.reduce(
        (sum, at) =>
          sum + (JSON.parse(readFileSync(join(at, "job.json"), "utf8")) as { sheets: unknown[] }).sheets.length,
        0,
      );
      const seconds = (end.at - start.at) / 1_000;
      const processor = end.processor - start.processor;
      return {
        workers: count,
        houses,
        sheets,
        seconds,
        perMinute: (sheets / seconds) * 60,
        processor,
        cores: processor / seconds,
        files: folders.map((folder) => hashes(folder)),
      };
    }
    await wait(50);
  }
};

/** Seconds of plain arithmetic in the trial of the machine. */
const TRIAL = 3;
/** Rounds of plain arithmetic of so many processes at once: what the machine itself has for a second one. */
const arithmetic = async (count: number): Promise<number> => {
  const code = `let n = 0, s = 0; for (const end = performance.now() + ${TRIAL * 1_000}; performance.now() < end; n++)
    for (let i = 1; i < 1e5; i++) s += Math.sqrt(i + s); console.log(n)`;
  const rounds = await Promise.all(
    Array.from({ length: count }, () => {
      const { stdout } = spawn(process.execPath, ["-e", code], { stdio: ["ignore", "pipe", "inherit"] });
      return text(stdout);
    }),
  );
  return rounds.reduce((sum, one) => sum + Number(one), 0);
};
const gain = (await arithmetic(2)) / (await arithmetic(1));

const counts = values.workers.split(",").map(Number);
const runs = [];
for (const [count, houses] of [...counts.map((n) => [n, 1] as const), ...(values.apart ? [[2, 2] as const] : [])]) {
  const run = await measure(count, houses);
  runs.push(run);
  const { sheets, seconds, processor } = run;
  process.stderr.write(
    `${count} at ${houses}: ${sheets} sheets, ${seconds.toFixed(1)} s, ${processor.toFixed(1)} s of processor\n`,
  );
}
redis.disconnect();
server.kill("SIGKILL");
rmSync(root, { recursive: true, force: true });
const [one, two] = runs;
const same = runs.every(({ files }) => JSON.stringify(files) === JSON.stringify(one?.files));
if (!same) throw new Error("the folders differ");
const ratio = one && two ? two.perMinute / one.perMinute : undefined;
const ofRuns = runs.flatMap(({ workers, houses, sheets, perMinute, seconds, processor, cores }): Figure[] => {
  const who = `${workers} worker${workers > 1 ? "s" : ""}${houses > 1 ? " at a queue each" : ""}`;
  const against = workers === 2 && houses === 1 && ratio !== undefined && one;
  return [
    {
      name: `sheets a minute of ${GANGS} gangs, ${who}${against ? "; peer: one worker" : ""}`,
      value: round(perMinute),
      unit: "/min",
      // Here more is better: the ratio is ours over the peer's.
      ...(against ? { peer: round(one.perMinute), ratio: round(ratio), goal: `>= ${GOAL}x`, met: ratio >= GOAL } : {}),
    },
    { name: `first claim to last end, ${who}`, value: round(seconds), unit: "s" },
    { name: `processor of all processes and threads, ${who}`, value: round(processor), unit: "s CPU" },
    { name: `processors in use, ${who}`, value: round(cores), unit: "" },
    { name: `sheets a second of processor, ${who}`, value: round(sheets / processor), unit: "/s CPU" },
  ];
});
const figures: Figure[] = [
  { name: "plain arithmetic of two processes against one's on this machine", value: round(gain), unit: "x" },
  ...ofRuns,
];
const left = ratio === undefined ? ["one worker against two"] : [];
if (figures.some(({ met }) => met === false)) process.exitCode = 1;
if (values.json) process.stdout.write(`${JSON.stringify({ machine: machine(), figures, left })}\n`);
else {
  process.stdout.write(
    `${machine()}\n${COPIES} kits a gang, ${one?.sheets ?? 0} sheets; the folders of all runs are byte-equal\n`,
  );
  for (const { name, value, unit, peer, ratio: times, goal, met } of figures) {
    const beside = times === undefined ? "" : `, peer ${peer} (${times}x)`;
    process.stdout.write(
      `${met === false ? "MISSED " : "       "}${name}: ${value} ${unit}${beside}${goal === undefined ? "" : `, goal ${goal}`}\n`,
    );
  }
  for (const name of left) process.stdout.write(`left: ${name}\n`);
}
