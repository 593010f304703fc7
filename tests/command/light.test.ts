// What a command loads: the heavy libraries only where they are wanted. Counted in what was built, as it is installed.
import { spawnSync } from "node:child_process";
import { readdirSync, readFileSync } from "node:fs";
import { mkdtempSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, it } from "vitest";
import { HOUSE } from "../support/exported.ts";

/** Libraries that take a tenth of a second and more, or only serve to open and write pictures and PDFs. */
const HEAVY = ["sharp", "pdf-lib", "@hyzyla/pdfium", "lcms-wasm", "@resvg/resvg-wasm", "css-tree", "bullmq", "fastify"];

/** Packages under node_modules of which a file was loaded, in any thread and process of the command, and how many files in all. */
const loadedBy = (
  ...words: string[]
): { readonly packages: ReadonlySet<string>; readonly files: number; readonly status: number | null } => {
  const log = mkdtempSync(join(tmpdir(), "kitforme-loaded-"));
  // V8's own coverage names every script that ran, ES modules too, in every process and thread.
  const { status } = spawnSync(process.execPath, [join(HOUSE, "worker/bin/kitforme.mjs"), ...words], {
    cwd: HOUSE,
    env: { ...process.env, NODE_V8_COVERAGE: log },
    stdio: "ignore",
  });
  const urls = new Set(
    readdirSync(log).flatMap((file) =>
      (JSON.parse(readFileSync(join(log, file), "utf8")) as { result: { url: string }[] }).result.map(({ url }) => url),
    ),
  );
  const packages = new Set(
    [...urls].flatMap((url) => {
      const [, name] = /.*\/node_modules\/((?:@[^/]+\/)?[^/]+)\//.exec(url) ?? [];
      return name === undefined ? [] : [name];
    }),
  );
  return { packages, files: [...urls].filter((url) => url.startsWith("file:")).length, status };
};

it("--version and --help load commander and next to nothing else", () => {
  for (const word of ["--version", "--help"]) {
    const { packages, files, status } = loadedBy(word);
    expect([...packages], word).toEqual(["commander"]);
    expect(files, word).toBeLessThan(40);
    expect(status).toBe(0);
  }
});

it("an estimate opens no artwork: no library of pictures, colours or PDFs is loaded by the command", () => {
  const demo = "fixtures/demo";
  const { packages, status } = loadedBy(
    "estimate",
    "--shop",
    `${demo}/shop.json`,
    "--kits",
    `${demo}/kits`,
    `${demo}/orders/HM-1041.json`,
  );
  expect(status).toBe(0);
  // The coverage sees the command and its thread.
  expect([...packages]).toContain("zod");
  expect(HEAVY.filter((name) => packages.has(name))).toEqual([]);
});
