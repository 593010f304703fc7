#!/usr/bin/env node
import { existsSync } from "node:fs";

const [major = 0, minor = 0] = process.versions.node.split(".").map(Number);
const old = major < 20 || (major === 20 && minor < 19);
const built = new URL("../dist/start.js", import.meta.url);
/** The last words, in both forms, as the command itself says them. */
const unable = (reason) => {
  if (process.argv.includes("--json"))
    process.stdout.write(`${JSON.stringify({ event: "end", end: "environment", exit: 3, reason })}\n`);
  process.stderr.write(`${reason}\n`);
  process.exitCode = 3;
};
if (old) unable(`kitforme needs Node.js 20.19 or newer; this is ${process.versions.node}.`);
else if (existsSync(built)) {
  const { start } = await import(built.href);
  process.exitCode = await start(process.argv.slice(2));
} else unable("kitforme is not built yet: run `npm run build` in the project's folder.");
