import { fileURLToPath } from "node:url";
import { defineConfig } from "vitest/config";

const root = fileURLToPath(new URL("..", import.meta.url));

// Tests run on the sources: the export condition "source" of every package leads to src/index.ts, so no build is needed
// and no list of aliases can go stale.
export default defineConfig({
  root,
  resolve: { conditions: ["source"] },
  ssr: { resolve: { conditions: ["source"] } },
  test: {
    include: ["tests/**/*.test.ts"],
    testTimeout: 30_000,
    hookTimeout: 60_000,
    pool: "forks",
    maxWorkers: 2,
    coverage: { include: ["packages/*/src/**/*.ts", "worker/src/**/*.ts"] },
  },
});
