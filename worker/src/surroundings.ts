import { randomUUID } from "node:crypto";
import { access, constants, mkdir, readdir, rm, writeFile } from "node:fs/promises";
import { join } from "node:path";
import type { Redis } from "ioredis";

const codeOf = (error: unknown): string => (error instanceof Error && "code" in error ? String(error.code) : "");

const whoAmI = (): string => (process.getuid === undefined ? "this user" : `user ${process.getuid()}`);

/** Why this process cannot work in these folders, one sentence a fault with what to do. Makes the out folder when there is none. */
export const faultsOfFolders = async (kits: string, out: string): Promise<string[]> => {
  const faults: string[] = [];
  try {
    await readdir(kits);
    await access(kits, constants.R_OK | constants.X_OK);
  } catch (error) {
    faults.push(
      codeOf(error) === "ENOENT"
        ? `The kits folder ${kits} is not there: check --kits (KITFORME_KITS), or mount its share.`
        : `The kits folder ${kits} cannot be read by ${whoAmI()} (${codeOf(error)}): let this user read it, or name another with --kits (KITFORME_KITS).`,
    );
  }
  // Only a file that was written proves it: permission bits say nothing about read-only mounts, quotas or full disks.
  const probe = join(out, `.kitforme-${randomUUID()}.part`);
  try {
    await mkdir(out, { recursive: true });
    await writeFile(probe, "");
    await rm(probe);
  } catch (error) {
    const code = codeOf(error);
    faults.push(
      code === "EEXIST" || code === "ENOTDIR"
        ? `The out folder ${out} is no folder: name another with --out (KITFORME_OUT).`
        : `The out folder ${out} cannot be written by ${whoAmI()} (${code}): give the folder to this user, run the worker as its owner, or name another with --out (KITFORME_OUT).`,
    );
  }
  return faults;
};

/** What could lose orders in the way this Redis keeps its data, one sentence each. Silent where it may not be asked (INFO refused). */
export const warningsOfRedis = async (redis: Redis): Promise<string[]> => {
  const info = await redis.info().catch(() => "");
  const said = (field: string): string | undefined => new RegExp(`^${field}:(.*?)\r?$`, "m").exec(info)?.[1];
  const warnings: string[] = [];
  const policy = said("maxmemory_policy");
  if (policy !== undefined && policy !== "noeviction")
    warnings.push(
      `Redis forgets old keys when its memory is full (maxmemory-policy ${policy}), orders among them: set it to noeviction.`,
    );
  if (said("aof_enabled") === "0")
    warnings.push(
      "Redis keeps no append-only file: orders put on the queue since its last snapshot are lost when it stops hard. Set appendonly yes.",
    );
  return warnings;
};
