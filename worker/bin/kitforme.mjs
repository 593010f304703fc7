#!/usr/bin/env node
import { existsSync } from "node:fs";

const [major = 0, minor = 0] = process.versions.node.split(".").map(Number);
const old = major < 20 || (major === 20 && minor < 19);
const built = new URL("../dist/cli.js", import.meta.url);
if (old) {
  process.stderr.write(`kitforme needs Node.js 20.19 or newer; this is ${process.versions.node}.\n`);
  process.exitCode = 3;
} else if (existsSync(built)) {
  const { main } = await import(built.href);
  process.exitCode = await main(process.argv.slice(2));
} else {
  process.stderr.write("kitforme is not built yet: run `npm run build` in the project's folder.\n");
  process.exitCode = 3;
}
