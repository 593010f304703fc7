import { spawnSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import type { Runs } from "@kitforme/bleed";

const PYTHON = "/usr/bin/python3";
const SCRIPT = fileURLToPath(new URL("peers.py", import.meta.url));

/** Whether scipy and OpenCV are there. */
export const peersPresent = (): boolean =>
  spawnSync(PYTHON, ["-c", "import numpy, scipy.ndimage, scipy.spatial, cv2"], { stdio: "ignore" }).status === 0;

export const ask = (...words: readonly (string | number)[]): Record<string, number> => {
  const { status, stdout, stderr } = spawnSync(PYTHON, [SCRIPT, ...words.map(String)], { encoding: "utf8" });
  if (status !== 0) throw new Error(`peers.py ${words[0]}: ${stderr}`);
  return JSON.parse(stdout) as Record<string, number>;
};

export const inFolder = async <T>(work: (folder: string) => T | Promise<T>): Promise<T> => {
  const folder = mkdtempSync(join(tmpdir(), "bleed-bench-"));
  try {
    return await work(folder);
  } finally {
    rmSync(folder, { recursive: true });
  }
};

/** One byte a pixel. */
export const writeMask = (path: string, set: Runs, width: number): void => {
  const mask = new Uint8Array(width * set.rows);
  for (let y = 0; y < set.rows; y++)
    for (let i = set.start[y] as number; i < (set.start[y + 1] as number); i += 2)
      mask.fill(1, y * width + (set.ends[i] as number), y * width + (set.ends[i + 1] as number));
  writeFileSync(path, mask);
};
