// Runs the command as a user does: the built bin in a process of its own.
import { spawn } from "node:child_process";
import { mkdtempSync, readdirSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createHash } from "node:crypto";
import { onTestFinished } from "vitest";

export const BIN = join(import.meta.dirname, "../../worker/bin/kitforme.mjs");
export const DEMO = join(import.meta.dirname, "../../fixtures/demo");
export const DEMO_ORDERS = readdirSync(join(DEMO, "orders"))
  .sort()
  .map((name) => join(DEMO, "orders", name));

export interface Ended {
  readonly code: number | null;
  readonly out: string;
  readonly err: string;
  /** Lines of `--json`. */
  readonly events: readonly Record<string, unknown>[];
  readonly seconds: number;
  /** Most memory resident, MiB (Linux). */
  readonly resident: number;
  /** Seconds of all its threads on a processor, blind to what else the machine does. */
  readonly cpu: number;
}

export const kitforme = (args: readonly string[], env: Record<string, string> = {}): Promise<Ended> =>
  new Promise((resolve, reject) => {
    const started = performance.now();
    // The process itself says at its end what it has used.
    const probe = `process.on("exit", () => require("node:fs").writeSync(3, JSON.stringify(process.resourceUsage())))`;
    const child = spawn(
      process.execPath,
      ["--eval", `${probe}; import(${JSON.stringify(BIN)})`, "--", "kitforme", ...args],
      {
        stdio: ["ignore", "pipe", "pipe", "pipe"],
        env: { ...process.env, ...env, NODE_OPTIONS: "" },
      },
    );
    const said = ["", "", ""];
    [child.stdout, child.stderr, child.stdio[3]].forEach((stream, i) =>
      stream?.on("data", (data: Buffer) => {
        said[i] += data.toString();
      }),
    );
    child.once("error", reject);
    child.once("close", (code) => {
      const out = said[0] as string;
      // A process that was killed has not said what it used.
      const use = JSON.parse(said[2] || "{}") as { maxRSS: number; userCPUTime: number; systemCPUTime: number };
      const lines = args.includes("--json") ? out.split("\n").filter(Boolean) : [];
      resolve({
        code,
        out,
        err: said[1] as string,
        events: lines.map((line) => JSON.parse(line) as Record<string, unknown>),
        seconds: (performance.now() - started) / 1000,
        resident: use.maxRSS / 1024,
        cpu: (use.userCPUTime + use.systemCPUTime) / 1e6,
      });
    });
  });

export const scratch = (): string => {
  const folder = mkdtempSync(join(tmpdir(), "kitforme-test-"));
  onTestFinished(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
};

/** Name and hash of every file of a folder. */
export const hashes = (folder: string): Record<string, string> =>
  Object.fromEntries(
    readdirSync(folder)
      .sort()
      .map((name) => [
        name,
        createHash("sha256")
          .update(readFileSync(join(folder, name)))
          .digest("hex"),
      ]),
  );
