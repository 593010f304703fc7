#!/usr/bin/env node
import { existsSync } from "node:fs";

const built = new URL("../dist/cli.js", import.meta.url);
if (existsSync(built)) {
  const { main } = await import(built.href);
  process.exitCode = await main(process.argv.slice(2));
} else {
  process.stderr.write("kitforme is not built yet: run `npm run build` in the project's folder.\n");
  process.exitCode = 3;
}
