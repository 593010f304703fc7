import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";

const at = (path: string): string => fileURLToPath(new URL(`../../../${path}`, import.meta.url));
/** Clock ticks a second in /proc, on every Linux of today. */
const TICKS = 100;

/** Rush orders of a kit that was made before: its pieces are in the cache, all but for the words. */
export const rushAgain = (times: number): number[] => {
  const cache = mkdtempSync(join(tmpdir(), "kitforme-rush-cache-"));
  try {
    rushOrder(cache);
    return Array.from({ length: times }, () => rushOrder(cache));
  } finally {
    rmSync(cache, { recursive: true, force: true });
  }
};

/** Seconds of processor of all processes that this one has started and that have ended, theirs too. */
const ofChildren = (): number => {
  const fields = readFileSync("/proc/self/stat", "utf8").split(") ")[1]?.split(" ") ?? [];
  return (Number(fields[13]) + Number(fields[14])) / TICKS;
};

/**
 * One rush order of one demo kit by the command, from the start of the process to its end: seconds of processor, with all its children.
 *
 * @param cache where prepared pieces are kept; left out, nowhere
 */
export const rushOrder = (cache?: string): number => {
  const folder = mkdtempSync(join(tmpdir(), "kitforme-rush-"));
  try {
    const order = join(folder, "rush.json");
    const lines = [{ kit: "harbour-lantern", quantity: 1, texts: [{ boat: "Solveig" }] }];
    writeFileSync(order, JSON.stringify({ order: "RUSH-1", rush: true, lines }));
    const before = ofChildren();
    const files = [
      "--shop",
      at("fixtures/demo/shop.json"),
      "--kits",
      at("fixtures/demo/kits"),
      "--out",
      join(folder, "out"),
    ];
    const command = [at("worker/bin/kitforme.mjs"), "make", "--effort", "quick", ...files, order];
    // A cache of the shop's own does not count.
    const { KITFORME_CACHE: _, ...others } = process.env;
    const env = cache === undefined ? others : { ...others, KITFORME_CACHE: cache };
    const { status, stderr } = spawnSync(process.execPath, command, { encoding: "utf8", env });
    if (status !== 0) throw new Error(stderr);
    return ofChildren() - before;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
};
