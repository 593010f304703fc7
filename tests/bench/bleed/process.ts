// What only a fresh process can show: the first call, and memory beyond the picture. Run by itself it is that process.
import { spawnSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { fillBand } from "@kitforme/bleed";
import { canvasOf } from "./canvas.ts";
import { BLEED, CONTOURS } from "./contours.ts";
import { atMost, type Measured, median } from "./measure.ts";

const me = fileURLToPath(import.meta.url);

/** A line of the kernel's account of this process, MiB. */
const status = (line: string): number =>
  Number(new RegExp(`${line}:\\s+(\\d+)`).exec(readFileSync("/proc/self/status", "utf8"))?.[1]) / 1024;

/** Makes the highest resident size start again from the present one (proc(5), clear_refs). */
const forgetPeak = (): void => writeFileSync("/proc/self/clear_refs", "5");

if (process.argv[1] === me) {
  const [name, ppi] = process.argv.slice(2) as ["net" | "blob" | "traced", string];
  const { grid, parts, reach } = canvasOf(CONTOURS[name], Number(ppi));
  forgetPeak();
  const before = status("VmRSS");
  const start = performance.now();
  const used = process.cpuUsage();
  fillBand(grid, parts, reach, BLEED);
  const { user, system } = process.cpuUsage(used);
  const wall = performance.now() - start;
  process.stdout.write(JSON.stringify({ cold: (user + system) / 1000, wall, memory: status("VmHWM") - before }));
}

const fresh = (name: string, ppi: number): { cold: number; wall: number; memory: number } => {
  const { status, stdout, stderr } = spawnSync(
    process.execPath,
    ["--import", "tsx", "--conditions=@kitforme/source", me, name, String(ppi)],
    { encoding: "utf8" },
  );
  if (status !== 0) throw new Error(stderr);
  return JSON.parse(stdout) as { cold: number; wall: number; memory: number };
};

export const freshProcess = (say: (line: string) => void): Measured => {
  say("first calls in fresh processes");
  const times = (name: string, ppi: number) => Array.from({ length: 5 }, () => fresh(name, ppi));
  const at300 = Object.keys(CONTOURS).map((name) => {
    const runs = times(name, 300);
    return [name, median(runs.map((r) => r.cold)), Math.min(...runs.map((r) => r.wall))] as const;
  });
  const at600 = Object.keys(CONTOURS).map((name) => [name, median(times(name, 600).map((r) => r.memory))] as const);
  return {
    figures: [
      // CPU time of all threads, compilers included; wall time is the best of five, since a busy machine has its say in it.
      ...at300.map(([name, cold, wall]) =>
        atMost(`first cold call, ${name}, 300 ppi (wall ${wall.toFixed(0)} ms)`, cold, "ms CPU", 60),
      ),
      ...at600.map(([name, memory]) => atMost(`memory beyond the picture, ${name}, 4800x6000`, memory, "MiB", 16)),
    ],
    left: [],
  };
};
