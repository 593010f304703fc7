import { fileURLToPath } from "node:url";
import { defineConfig } from "vitest/config";

const root = fileURLToPath(new URL("..", import.meta.url));

// Tests run on the sources: the export condition "@kitforme/source" of every package leads to src/index.ts, so no build is needed
// and no list of aliases can go stale. What starts many processes runs what was built, as a user does: the
// command, the queue, whole jobs. From the sources each process takes three times as long to start.
/** Tests that make whole jobs, whose children start sooner as built; the remake's looks into the sources. */
const BUILT = ["tests/run/!(remake).test.ts", "tests/hostile/*.test.ts"];
const sources = { conditions: ["@kitforme/source"] };
const shared = {
  pool: "forks" as const,
  testTimeout: 30_000,
  hookTimeout: 60_000,
};

export default defineConfig({
  root,
  test: {
    // For two processors: tests of the queue wait for much of their time, which a third process uses.
    maxWorkers: 3,
    coverage: { include: ["packages/*/src/**/*.ts", "worker/src/**/*.ts"] },
    projects: [
      {
        extends: true,
        resolve: sources,
        ssr: { resolve: sources },
        test: {
          ...shared,
          name: "rooms",
          // Files share their process and its modules: nothing here keeps state in a module, and importing them anew for
          // every file takes a third of the time.
          isolate: false,
          include: ["tests/**/*.test.ts"],
          exclude: ["tests/queue/**", "tests/command/**", ...BUILT],
        },
      },
      {
        extends: true,
        test: { ...shared, name: "jobs", include: BUILT },
      },
      {
        extends: true,
        resolve: sources,
        ssr: { resolve: sources },
        test: { ...shared, name: "command", include: ["tests/command/**/*.test.ts"], testTimeout: 120_000 },
      },
      {
        extends: true,
        test: {
          ...shared,
          name: "queue",
          include: ["tests/queue/**/*.test.ts"],
          globalSetup: ["tests/support/redis-server.ts"],
          testTimeout: 240_000,
        },
      },
    ],
  },
});
