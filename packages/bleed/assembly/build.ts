// Compiles index.ts and writes the binary, as base64, to ../src/engine-binary.ts: `npm run build:bleed`.
// With `--check` it writes nothing and fails when the committed binary is not what the source gives.
import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const here = dirname(fileURLToPath(import.meta.url));
const target = join(here, "..", "src", "engine-binary.ts");
const folder = mkdtempSync(join(tmpdir(), "bleed-"));
try {
  const asc = join(dirname(createRequire(import.meta.url).resolve("assemblyscript/package.json")), "bin", "asc.js");
  const out = join(folder, "engine.wasm");
  execFileSync(process.execPath, [
    asc,
    join(here, "index.ts"),
    "--outFile",
    out,
    "--optimizeLevel",
    "3",
    "--noAssert",
    "--enable",
    "simd",
    "--runtime",
    "stub",
  ]);
  const text = readFileSync(out).toString("base64");
  const lines = text.match(/.{1,110}/g) ?? [];
  const module = [
    "// Made by `npm run build:bleed` from assembly/; do not edit.",
    "export const ENGINE_BINARY = [",
    ...lines.map((line) => `  "${line}",`),
    '].join("");',
    "",
  ].join("\n");
  if (process.argv.includes("--check")) {
    if (readFileSync(target, "utf8") !== module) {
      console.error("engine-binary.ts is not what assembly/ gives: run `npm run build:bleed`");
      process.exitCode = 1;
    }
  } else writeFileSync(target, module);
} finally {
  rmSync(folder, { recursive: true });
}
