import { fileURLToPath } from "node:url";
import { defineConfig } from "vitest/config";

const root = fileURLToPath(new URL("..", import.meta.url));

// Tests run on the sources: the export condition "@kitforme/source" of every package leads to src/index.ts, so no build is needed
// and no list of aliases can go stale. Only tests/command and tests/queue run what was built, as a user does: the queue starts
// many processes, and from the sources each takes three times as long to start.
const sources = { conditions: ["@kitforme/source"] };
const shared = {
  pool: "forks" as const,
  testTimeout: 30_000,
  hookTimeout: 60_000,
};

export default defineConfig({
  root,
  test: {
    maxWorkers: 2,
    coverage: { include: ["packages/*/src/**/*.ts", "worker/src/**/*.ts"] },
    projects: [
      {
        extends: true,
        resolve: sources,
        ssr: { resolve: sources },
        test: {
          ...shared,
          name: "rooms",
          include: ["tests/**/*.test.ts"],
          exclude: ["tests/queue/**", "tests/command/**"],
        },
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
