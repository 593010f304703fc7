// npm run bench:bleed [-- --json] [--only speed,process,quality,poses,seam,offset]
import { parseArgs } from "node:util";
import { type Figure, machine, type Measured } from "./measure.ts";

const { values } = parseArgs({ options: { json: { type: "boolean", default: false }, only: { type: "string" } } });
const say = (line: string): void => {
  process.stderr.write(`${line}\n`);
};

const PARTS: Readonly<Record<string, () => Promise<Measured> | Measured>> = {
  speed: async () => (await import("./speed.ts")).speed(say),
  process: async () => (await import("./process.ts")).freshProcess(say),
  quality: async () => (await import("./quality.ts")).quality(say),
  poses: async () => (await import("./poses.ts")).poses(say),
  seam: async () => (await import("./seam.ts")).seam(say),
  offset: async () => (await import("./offset.ts")).offset(say),
};

const wanted = values.only?.split(",") ?? Object.keys(PARTS);
const figures: Figure[] = [];
const left: string[] = Object.keys(PARTS).filter((name) => !wanted.includes(name));
for (const name of wanted) {
  const part = PARTS[name];
  if (!part) {
    say(`${name}: no such part`);
    process.exitCode = 2;
    continue;
  }
  try {
    const measured = await part();
    figures.push(...measured.figures);
    left.push(...measured.left);
  } catch (error) {
    // One part that cannot run here takes no other with it; the object still says so.
    left.push(`${name}: ${error instanceof Error ? error.message : String(error)}`);
    process.exitCode = 1;
  }
}

if (values.json) process.stdout.write(`${JSON.stringify({ machine: machine(), figures, left })}\n`);
else {
  process.stdout.write(`${machine()}\n`);
  for (const { name, value, unit, peer, ratio, goal, met } of figures) {
    const beside = ratio === undefined ? "" : `, peer ${peer} (${ratio}x)`;
    process.stdout.write(
      `${met === false ? "MISSED " : "       "}${name}: ${value} ${unit}${beside}${goal === undefined ? "" : `, goal ${goal}`}\n`,
    );
  }
  for (const name of left) process.stdout.write(`left: ${name}\n`);
}
