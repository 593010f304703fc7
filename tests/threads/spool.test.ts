import { Spool, writeAt } from "../../packages/threads/src/spool.ts";
import { closeSync, openSync } from "node:fs";
import { tmpdir } from "node:os";
import { expect, it, vi } from "vitest";

const FULL = "/dev/full";

it("names the folder of temporary files when that is away, and what says where it is", () => {
  vi.stubEnv("TMPDIR", "/not/there");
  try {
    expect(() => new Spool()).toThrow(
      expect.objectContaining({ code: "ENOENT", path: "/not/there, the folder for temporary files (TMPDIR)" }),
    );
  } finally {
    vi.unstubAllEnvs();
  }
});

it.skipIf(process.platform !== "linux")("names it too when the disk is full (Linux's own full device)", () => {
  const file = openSync(FULL, "w");
  try {
    expect(() => writeAt(file, Uint8Array.of(1), 0)).toThrow(
      expect.objectContaining({ code: "ENOSPC", path: `${tmpdir()}, the folder for temporary files (TMPDIR)` }),
    );
  } finally {
    closeSync(file);
  }
});
