// A stranger's first hour: every workspace packed as it would be published, installed into empty projects, compiled strictly
// under every way of finding modules, and run. Needs the npm registry, as `npm ci` does.
import { execFileSync, spawnSync } from "node:child_process";
import { copyFileSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { delimiter, join } from "node:path";
import { publint } from "publint";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { hashes, kitforme } from "../support/command.ts";
import { smallShop } from "../support/small-shop.ts";

const house = join(import.meta.dirname, "../..");
const workspaces = [
  ...readdirSync(join(house, "packages")).map((name) => join(house, "packages", name)),
  join(house, "worker"),
];
const manifestOf = (folder: string) =>
  JSON.parse(readFileSync(join(folder, "package.json"), "utf8")) as { name: string; version: string };
const versions = JSON.parse(readFileSync(join(house, "package.json"), "utf8")).devDependencies as Record<
  string,
  string
>;
// Other versions of Node by their paths, in a long form by hand: KITFORME_NODES=/path/of/22/node:/path/of/24/node
const NODES = [process.execPath, ...(process.env["KITFORME_NODES"]?.split(delimiter) ?? [])];
const root = mkdtempSync(join(tmpdir(), "kitforme-stranger-"));
const project = join(root, "project");
interface Packed {
  name: string;
  filename: string;
  files: { path: string }[];
}
/** What npm packed, by the package's name. */
const packs = new Map<string, Packed>();
const npm = (args: readonly string[], cwd: string): string =>
  execFileSync("npm", [...args, "--no-audit", "--no-fund", "--ignore-scripts"], {
    cwd,
    encoding: "utf8",
    stdio: "pipe",
  });

/** What a program that uses the library would write first, every name of the front door among it. */
const PROGRAM = `
import { readFile } from "node:fs/promises";
import * as door from "@kitforme/run";
import { type Finding, type Job, jobFolder, kitsIn, type Outcome, run } from "@kitforme/run";

const shop = { file: "shop.json", text: await readFile("shop.json", "utf8") };
const order = { file: "order.json", text: await readFile("order.json", "utf8") };
const outcome: Outcome = await run({ shop, orders: [order] }, { kits: kitsIn("kits"), out: () => jobFolder("out") });
const findings: readonly Finding[] = outcome.findings;
const job: Job | undefined = outcome.job;
console.log(job?.sheets.length, findings.filter((f) => f.level === "error").length, Object.keys(door).length);
`;

beforeAll(() => {
  mkdirSync(project);
  // One call for all of them: npm takes a second and more to start.
  for (const pack of JSON.parse(npm(["pack", "--json", "--workspaces", "--pack-destination", root], house)) as Packed[])
    packs.set(pack.name, pack);
  const packed = [...packs.values()].map(({ filename }) => join(root, filename));
  writeFileSync(join(project, "package.json"), JSON.stringify({ name: "empty", private: true, type: "module" }));
  const tools = ["typescript", "@types/node"].map((name) => `${name}@${versions[name]}`);
  // What a dependency asks of Node must hold for the versions that the packages name, too: `--engine-strict` refuses else.
  npm(["install", "--prefer-offline", "--engine-strict", ...packed, ...tools], project);
}, 600_000);
afterAll(() => rmSync(root, { recursive: true, force: true }));

describe("in an empty project", () => {
  it.each([
    ["node16", "node16"],
    ["nodenext", "nodenext"],
    ["esnext", "bundler"],
  ])("the front door compiles, strict, libraries checked too: module %s, resolution %s", (module, resolution) => {
    writeFileSync(join(project, "program.ts"), PROGRAM);
    const options = [
      "--noEmit",
      "--strict",
      "--skipLibCheck",
      "false",
      "--target",
      "es2022",
      "--types",
      "node",
      "--ignoreConfig",
    ];
    const tsc = spawnSync(
      "npx",
      ["tsc", ...options, "--module", module, "--moduleResolution", resolution, "program.ts"],
      {
        cwd: project,
        encoding: "utf8",
      },
    );
    expect(tsc.stdout + tsc.stderr).toBe("");
  });

  it.each(NODES)("the program makes the job that the workspace makes, byte for byte: %s", async (node) => {
    const at = smallShop(mkdtempSync(join(root, "shop-")));
    copyFileSync(at.order("R-1", ["Solveig"]), join(at.root, "order.json"));
    writeFileSync(
      join(project, "program.mjs"),
      PROGRAM.replaceAll(/type \w+, |: Outcome|: readonly Finding\[\]|: Job \| undefined/g, ""),
    );
    // A stranger's own condition "source" is not ours, which has our name before it.
    const args = ["--conditions=source", join(project, "program.mjs")];
    execFileSync(node, args, { cwd: at.root, encoding: "utf8" });
    const ours = await kitforme([
      "make",
      "--shop",
      at.shop,
      "--kits",
      at.kits,
      "--out",
      join(at.root, "ours"),
      join(at.root, "order.json"),
    ]);
    expect(ours.code).toBe(0);
    expect(Object.keys(hashes(join(at.root, "out"))).length).toBeGreaterThan(5);
    expect(hashes(join(at.root, "out"))).toEqual(hashes(join(at.root, "ours")));
  });

  it("CommonJS uses it by import, and is told so when it requires", () => {
    writeFileSync(
      join(project, "by-import.cjs"),
      `import("@kitforme/run").then(({ run }) => console.log(typeof run));`,
    );
    expect(execFileSync(process.execPath, ["by-import.cjs"], { cwd: project, encoding: "utf8" }).trim()).toBe(
      "function",
    );
    const required = spawnSync(process.execPath, ["--eval", 'require("@kitforme/run")'], {
      cwd: project,
      encoding: "utf8",
    });
    expect(required.stderr).toContain('In CommonJS write: const { run } = await import("@kitforme/run")');
  });

  it("the command is there, and says its version", () => {
    const bin = join(project, "node_modules", ".bin", "kitforme");
    expect(execFileSync(bin, ["--version"], { encoding: "utf8" }).trim()).toBe(
      manifestOf(join(house, "worker")).version,
    );
  });
});

describe.each(workspaces.map((folder) => [manifestOf(folder).name, folder]))("%s", (_, folder) => {
  it("is sound to publish (reference: publint)", async () => {
    const { messages } = await publint({ pkgDir: folder, strict: true });
    expect(messages).toEqual([]);
  });

  it("carries its licence, a README and no build state", () => {
    const paths = packs.get(manifestOf(folder).name)?.files.map((f) => f.path) ?? [];
    expect(paths).toEqual(expect.arrayContaining(["LICENSE", "README.md", "dist/index.js", "dist/index.d.ts"]));
    expect(paths.filter((p) => p.includes("tsbuildinfo"))).toEqual([]);
    const papers = readdirSync(folder).filter((name) => /^[A-Z]+\.md$/.test(name));
    expect(paths).toEqual(expect.arrayContaining(papers));
  });
});
