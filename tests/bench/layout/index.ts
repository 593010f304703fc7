// npm run bench:layout [-- --json] [--only strip,bins] [--names swim,fu] [--seconds 60] [--seeds 3] [--cores 2]
// npm run bench:layout -- --instance FILE.json --seconds 60 --seed 1 [--cores 2]  any instance of the form of the fixtures
import { existsSync, readFileSync } from "node:fs";
import { parseArgs } from "node:util";
import { type Bench, machine, type Options } from "./bench.ts";

const NAMES = ["strip", "bins", "coverprinting", "ganging", "kits", "scale", "valid", "placements"];

const asked = () => {
  try {
    return parseArgs({
      options: {
        json: { type: "boolean", default: false },
        only: { type: "string" },
        names: { type: "string" },
        instance: { type: "string" },
        seconds: { type: "string" },
        seed: { type: "string", default: "1" },
        seeds: { type: "string", default: "3" },
        cores: { type: "string", default: "1" },
      },
    }).values;
  } catch (error) {
    process.stderr.write(`${(error as Error).message}\n`);
    process.exit(2);
  }
};
const values = asked();
const options: Options = {
  seconds: values.seconds === undefined ? 60 : Number(values.seconds),
  seed: Number(values.seed),
  seeds: Number(values.seeds),
  cores: Number(values.cores),
  ...(values.instance === undefined ? {} : { file: values.instance }),
  names: values.names?.split(",") ?? [],
  say: (line) => process.stderr.write(`${line}\n`),
};

const load = async (name: string): Promise<Bench | undefined> => {
  const file = new URL(`./${name}.ts`, import.meta.url);
  return existsSync(file) ? ((await import(file.href)) as { bench: Bench }).bench : undefined;
};
const print = (value: unknown): void => {
  process.stdout.write(`${JSON.stringify(value)}\n`);
};

if (values.instance !== undefined) {
  const instance = JSON.parse(readFileSync(values.instance, "utf8")) as Record<string, unknown>;
  let answered = false;
  for (const name of NAMES) {
    const bench = await load(name);
    if (!bench?.takes(instance)) continue;
    const { figures, layout } = await bench.one(instance, options);
    print({ machine: machine(), bench: name, instance: instance["name"], figures, left: [], layout });
    answered = true;
    break;
  }
  if (!answered) {
    process.stderr.write(`${values.instance}: no bench takes an instance of this form\n`);
    process.exitCode = 2;
  }
} else {
  const wanted = values.only?.split(",") ?? NAMES;
  const figures: Awaited<ReturnType<Bench["all"]>>["figures"][number][] = [];
  const left: string[] = NAMES.filter((name) => !wanted.includes(name));
  for (const name of wanted) {
    const bench = await load(name);
    if (!bench) {
      left.push(name);
      continue;
    }
    const result = await bench.all(options);
    figures.push(...result.figures);
    left.push(...result.left);
  }
  if (values.json) print({ machine: machine(), figures, left });
  else {
    process.stdout.write(`${machine()}\n`);
    for (const f of figures)
      process.stdout.write(
        `${f.name.padEnd(44)} ${f.value.toFixed(2).padStart(12)} ${f.unit}${f.goal === undefined ? "" : `  goal ${f.goal}${f.met ? " met" : " MISSED"}`}${f.peer === undefined ? "" : `  peer ${f.peer}`}\n`,
      );
    if (left.length > 0) process.stdout.write(`left out: ${left.join(", ")}\n`);
  }
}
