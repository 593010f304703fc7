// Mutants of good files through a queue and a worker in processes of their own: each order is made or refused with a reason, the
// worker lives, its good neighbour is made, nothing beside the out folder is touched, no library's cry stands in the log.
//   npm run test:hostile -- [--from 0] [--to 10000] [--seed 1] [--results FILE]
// A mutant is its seed and its number: any range can be tried by itself, and a run that was stopped goes on with `--from`.
import { type ChildProcess, spawn } from "node:child_process";
import { createHash } from "node:crypto";
import { appendFileSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { parseArgs } from "node:util";
import { readOrderForm } from "@kitforme/kit";
import { keysOf, type OrderStatus, statusOf, type Submission, submitOrders } from "@kitforme/queue";
import { Redis } from "ioredis";
import { BIN } from "../support/command.ts";
import { redisHere } from "../support/redis-server.ts";
import { card } from "../support/shelf.ts";
import { smallShop } from "../support/small-shop.ts";
import type { Hostile } from "./corpus.ts";
import { good } from "./good.ts";
import { mutantOf } from "./mutate.ts";
import { randomFrom } from "./random.ts";

const { values } = parseArgs({
  options: {
    from: { type: "string", default: "0" },
    to: { type: "string", default: "10000" },
    seed: { type: "string", default: "1" },
    together: { type: "string", default: "60" },
    results: { type: "string" },
  },
});
const [FROM, TO, SEED, TOGETHER] = [values.from, values.to, values.seed, values.together].map(Number) as [
  number,
  number,
  number,
  number,
];
/** Seconds of the worker's processor after which an order that has no answer hangs: blind to what else the machine does. */
const LIMIT = 600;
/** And by the clock, where the worker does nothing at all. */
const PATIENCE = 3_600;

const seeds = await good();
/** Below zero the good files themselves, which must be made. */
const mutant = (number: number): Hostile => {
  if (number < 0) return seeds[-1 - number] as Hostile;
  const seed = seeds[randomFrom(number * 2 + SEED * 7919)(seeds.length)] as Hostile;
  const kin = seeds.filter(({ as, file }) => as === seed.as && file === seed.file).map(({ bytes }) => bytes);
  return { ...seed, bytes: mutantOf(seed.file, seed.bytes, SEED * 1_000_003 + number, kin) };
};

const root = mkdtempSync(join(tmpdir(), "kitforme-hostile-"));
const shop = smallShop(root);
// Larger sheets of fewer pixels: what is looked for is in the files, not in the sheets.
const form = JSON.parse(readFileSync(shop.shop, "utf8")) as {
  stocks: Record<string, { sheet: number[] }>;
  presses: Record<string, { resolution: number }>;
};
for (const stock of Object.values(form.stocks)) stock.sheet = [480, 680];
for (const press of Object.values(form.presses)) press.resolution = 100;
const ownShop = JSON.stringify(form);
writeFileSync(shop.shop, ownShop);
const scratch = join(root, "scratch");
for (const folder of [shop.out, scratch]) mkdirSync(folder);

const SLOT = { slot: "name", box: [6, 12, 48, 14], size: 12, leastSize: 6, colour: "#ffffff" };
const write = (kit: string, { file, bytes, as }: Hostile): void => {
  const folder = join(shop.kits, kit);
  mkdirSync(folder, { recursive: true });
  writeFileSync(join(folder, "good.svg"), card(60, 40));
  const piece = { piece: "bad", stock: "card", lines: { cutting: "#cut" }, artwork: "#art", drawing: "good.svg" };
  const bad =
    as === "drawing"
      ? { drawing: file }
      : as === "artwork"
        ? { artwork: { file, box: [0, 0, 60, 40] } }
        : { slots: [{ ...SLOT, font: file }] };
  const form =
    as === "kit"
      ? Buffer.from(bytes).toString("latin1").replace("@KIT@", kit)
      : { kit, pieces: [{ ...piece, ...bad }] };
  writeFileSync(
    join(folder, "kit.json"),
    typeof form === "string" ? Buffer.from(form, "latin1") : JSON.stringify(form),
  );
  if (as !== "kit") writeFileSync(join(folder, file), bytes);
};

/** Every file beside the out folder and the worker's temporary ones, with its hash. */
const beside = (at = ""): string[] =>
  readdirSync(join(root, at), { withFileTypes: true }).flatMap((e) => {
    const path = join(at, e.name);
    if (path === "out" || path === "scratch") return [];
    return e.isDirectory()
      ? beside(path)
      : [
          `${path} ${createHash("sha256")
            .update(readFileSync(join(root, path)))
            .digest("hex")}`,
        ];
  });

const { url, child: server } = await redisHere();
const redis = new Redis(url, { maxRetriesPerRequest: null });
const keys = keysOf("fuzz");
const cries: string[] = [];
let worker: ChildProcess | undefined;
const startWorker = async (): Promise<ChildProcess> => {
  const args = ["--shop", shop.shop, "--kits", shop.kits, "--out", shop.out, "--redis", url, "--prefix", "fuzz"];
  const child = spawn(process.execPath, [BIN, "work", "--json", "--concurrency", "1", ...args], {
    stdio: ["ignore", "pipe", "pipe"],
    env: { ...process.env, TMPDIR: scratch },
  });
  await new Promise<void>((resolve, reject) => {
    child.once("exit", (code, signal) => reject(new Error(`the worker ended with ${code ?? signal}`)));
    for (const stream of [child.stdout, child.stderr])
      stream.on("data", (data: Buffer) => {
        const lines = data
          .toString()
          .split("\n")
          .filter((line) => line.trim() !== "");
        cries.push(...lines.filter((line) => !line.startsWith("{")));
        if (lines.some((line) => line.includes("taking orders"))) resolve();
      });
  });
  return child;
};
const end = (code: number): never => {
  worker?.kill("SIGKILL");
  server.kill("SIGKILL");
  rmSync(root, { recursive: true, force: true });
  process.exit(code);
};
process.once("SIGINT", () => end(130)).once("SIGTERM", () => end(143));

/** Seconds of processor that the worker and what it starts have used (Linux). */
const used = (): number => {
  const pid = worker?.pid ?? 0;
  const ticks = (process: string, of: readonly number[]): number => {
    try {
      const rest = readFileSync(`/proc/${process}/stat`, "latin1")
        .replace(/^.*\) /, "")
        .split(" ");
      return of.reduce((sum, i) => sum + Number(rest[i]), 0);
    } catch {
      return 0; // over meanwhile
    }
  };
  // utime, stime, cutime, cstime of proc(5), counted behind the name; those that live are in nobody's sum yet.
  const living = readdirSync("/proc").filter((one) => /^\d+$/.test(one) && ticks(one, [1]) === pid);
  return (ticks(String(pid), [11, 12, 13, 14]) + living.reduce((sum, one) => sum + ticks(one, [11, 12]), 0)) / 100;
};

interface Fate {
  readonly number: number;
  readonly of: string;
  readonly outcome: string;
  readonly rules?: readonly string[];
  /** What was said where a reader broke: there one of our own faults would show. */
  readonly said?: readonly string[];
}

const fateOf = (number: number, of: string, status: OrderStatus | undefined): Fate => {
  const findings = status?.answer && "findings" in status.answer ? status.answer.findings : [];
  const errors = findings.filter(({ level }) => level === "error");
  const said = errors.filter(({ rule }) => rule.startsWith("file-")).map(({ message }) => message);
  const state = status?.state ?? "unknown";
  return {
    number,
    of,
    outcome: state === "refused" && errors.length === 0 ? "refused without a reason" : state,
    ...(errors.length > 0 ? { rules: [...new Set(errors.map(({ rule }) => rule))] } : {}),
    ...(said.length > 0 ? { said } : {}),
    ...(state === "failed" ? { said: [JSON.stringify(status?.answer)] } : {}),
  };
};

/** Hands the mutants from one number up to another in as one submission, and waits for their ends. */
const tryAll = async (from: number, to: number): Promise<Fate[]> => {
  const submissions: Submission[] = [];
  const fates: Fate[] = [];
  const names = new Map<string, readonly [number, string]>();
  rmSync(join(shop.kits), { recursive: true, force: true });
  smallShop(root);
  writeFileSync(shop.shop, ownShop);
  const hand = (text: string, name: string): readonly { readonly rule: string; readonly level: string }[] => {
    const form = readOrderForm({ file: `${name}.json`, text });
    const own = form.value;
    if (own && !submissions.some((s) => s.name === own.order))
      submissions.push({ name: own.order, file: `${name}.json`, text, content: own });
    return own ? [] : form.findings;
  };
  const neighbour = `good-${from}`;
  hand(JSON.stringify({ order: neighbour, lines: [{ kit: "tag", quantity: 1, texts: [{ name: "Ada" }] }] }), neighbour);
  for (let number = from; number < to; number++) {
    const one = mutant(number);
    const name = number < 0 ? `g${-number}` : `m${number}`;
    const before = submissions.length;
    const line = {
      kit: name,
      quantity: 1,
      ...(one.as === "font" || one.name === "kit slots"
        ? { texts: [{ name: "Ada", ...(one.as === "kit" ? { link: "https://example.org" } : {}) }] }
        : {}),
    };
    const found = hand(
      one.as === "order"
        ? Buffer.from(one.bytes).toString().replace("@ORDER@", name)
        : JSON.stringify({ order: name, lines: [line] }),
      name,
    );
    if (one.as !== "order") write(name, one);
    const own = submissions[before]?.name;
    if (own !== undefined) names.set(own, [number, one.name]);
    else
      fates.push({
        number,
        of: one.name,
        outcome: "refused at the door",
        rules: [...new Set(found.map(({ rule }) => rule))],
      });
  }
  const was = beside();
  const house = { shop: shop.shop, kits: shop.kits, out: shop.out };
  const { findings } = await submitOrders(redis, keys, submissions, { effort: "quick", now: true, house });
  if (findings.length > 0) throw new Error(`the submission was refused: ${JSON.stringify(findings)}`);
  const open = new Set([neighbour, ...names.keys()]);
  const [latest, most] = [Date.now() + PATIENCE * 1000, used() + LIMIT];
  while (open.size > 0) {
    await new Promise((r) => void setTimeout(r, 150));
    if (worker?.exitCode !== null || worker.signalCode !== null) throw new Error("the worker is dead");
    for (const order of open) {
      const status = (await statusOf(redis, keys, { order }))[0];
      const over = status?.answer !== undefined;
      if (!over && Date.now() < latest && used() < most) break;
      open.delete(order);
      const [number, of] = names.get(order) ?? [-1, "the neighbour"];
      const fate = over ? fateOf(number, of, status) : { number, of, outcome: "hangs" };
      if (order !== neighbour) fates.push(fate);
      else if (fate.outcome !== "made") throw new Error(`the good neighbour was not made: ${JSON.stringify(status)}`);
    }
  }
  if (beside().join("\n") !== was.join("\n")) throw new Error("something beside the out folder was touched");
  for (const job of readdirSync(shop.out).filter((name) => name !== ".kitforme"))
    rmSync(join(shop.out, job), { recursive: true, force: true });
  return fates.sort((a, b) => a.number - b.number);
};

const counts: Record<string, number> = {};
let bad = 0;
const started = performance.now();
console.log(`seed ${SEED}, mutants ${FROM} to ${TO - 1} of ${seeds.length} good files, ${TOGETHER} in a submission`);
try {
  worker = await startWorker();
  for (const fate of await tryAll(-seeds.length, 0)) {
    if (fate.outcome === "made") continue;
    bad++;
    console.log(`GOOD AND NOT MADE: ${JSON.stringify(fate)}`);
  }
  for (let from = FROM; from < TO; from += TOGETHER) {
    const fates = await tryAll(from, Math.min(TO, from + TOGETHER));
    for (const fate of fates) {
      counts[fate.outcome] = (counts[fate.outcome] ?? 0) + 1;
      if (!["made", "refused", "refused at the door"].includes(fate.outcome)) {
        bad++;
        console.log(`NOT SETTLED: ${JSON.stringify(fate)}`);
      }
      if (values.results !== undefined) appendFileSync(values.results, `${JSON.stringify(fate)}\n`);
    }
    const seconds = Math.round((performance.now() - started) / 1000);
    console.log(
      `${from + fates.length} tried, ${seconds} s, ${used().toFixed(0)} s of processor: ${JSON.stringify(counts)}`,
    );
  }
  if (cries.length > 0) {
    bad++;
    console.log(`in the log, from no hand of ours: ${JSON.stringify(cries.slice(0, 20))}`);
  }
} catch (error) {
  bad++;
  console.log(error);
}
console.log(bad === 0 ? "all settled" : `${bad} did not settle`);
end(bad === 0 ? 0 : 1);
