import { spawn } from "node:child_process";
import { readdirSync, readFileSync, rmSync } from "node:fs";
import { join } from "node:path";
import { keysOf, statusOf, submitOrders } from "@kitforme/queue";
import type { Redis } from "ioredis";
import { BIN } from "../../support/command.ts";
import type { SmallShop } from "../../support/small-shop.ts";
import { type Figure, round } from "../bleed/measure.ts";

/** Orders between two looks at the memory. */
const STEP = 10;

/** MiB that a process and all it has started hold: the sum of proportional set sizes (Linux, proc(5)). */
const held = (root: number): number => {
  const parents = new Map<number, number>();
  for (const pid of readdirSync("/proc").filter((one) => /^\d+$/.test(one)))
    try {
      const stat = readFileSync(`/proc/${pid}/stat`, "latin1")
        .replace(/^.*\) /, "")
        .split(" ");
      parents.set(Number(pid), Number(stat[1]));
    } catch {
      // over meanwhile
    }
  const within = (pid: number): boolean => pid === root || (parents.has(pid) && within(parents.get(pid) as number));
  let kib = 0;
  for (const pid of parents.keys())
    if (within(pid))
      try {
        kib += Number(/^Pss:\s+(\d+)/m.exec(readFileSync(`/proc/${pid}/smaps_rollup`, "latin1"))?.[1] ?? 0);
      } catch {
        // over meanwhile
      }
  return kib / 1024;
};

/** Slope of a line through the values, by least squares. */
const slope = (values: readonly number[]): number => {
  const middle = (values.length - 1) / 2;
  const mean = values.reduce((sum, v) => sum + v, 0) / values.length;
  const [up, down] = values.reduce(([a, b], v, i) => [a + (i - middle) * (v - mean), b + (i - middle) ** 2], [0, 0]);
  return down === 0 ? 0 : up / down;
};

/** A worker's memory over so many small orders, each a job of its own, one after the other. */
export const steady = async (
  redis: Redis,
  url: string,
  shop: SmallShop,
  orders: number,
): Promise<{ readonly figures: Figure[]; readonly held: readonly number[] }> => {
  const keys = keysOf("steady");
  const args = ["--shop", shop.shop, "--kits", shop.kits, "--out", shop.out, "--redis", url, "--prefix", "steady"];
  const child = spawn(process.execPath, [BIN, "work", "--json", "--concurrency", "1", ...args], { stdio: "ignore" });
  const seen: number[] = [];
  try {
    for (let i = 0; i < orders; i++) {
      const name = `S-${i}`;
      const content = { order: name, lines: [{ kit: "tag", quantity: 1, texts: [{ name: `Boat ${i}` }] }] };
      const one = { name, file: `${name}.json`, text: JSON.stringify(content), content };
      await submitOrders(redis, keys, [one], { effort: "quick", now: true });
      for (let state = ""; state !== "made"; await new Promise((r) => void setTimeout(r, 20))) {
        state = (await statusOf(redis, keys, { order: name }))[0]?.state ?? "";
        if (state === "refused" || state === "failed" || child.exitCode !== null) throw new Error(`${name}: ${state}`);
      }
      if (i % STEP === STEP - 1) seen.push(held(child.pid as number));
      for (const job of readdirSync(shop.out).filter((folder) => folder !== ".kitforme"))
        rmSync(join(shop.out, job), { recursive: true });
    }
  } finally {
    child.kill("SIGKILL");
  }
  // What is loaded once, and kept warm, is loaded by then.
  const later = seen.slice(Math.floor(seen.length / 3));
  const half = Math.floor(later.length / 2);
  const mean = (of: readonly number[]): number => round(of.reduce((sum, v) => sum + v, 0) / of.length);
  const name = `worker and its processes, ${orders} orders one after the other`;
  return {
    held: seen.map((v) => Math.round(v)),
    figures: [
      { name: `${name}: the most held`, value: round(Math.max(...seen)), unit: "MiB" },
      { name: `${name}: mean of the middle third`, value: mean(later.slice(0, half)), unit: "MiB" },
      { name: `${name}: mean of the last third`, value: mean(later.slice(half)), unit: "MiB" },
      { name: `${name}: growth`, value: round((slope(later) / STEP) * 100), unit: "MiB a hundred orders" },
    ],
  };
};
