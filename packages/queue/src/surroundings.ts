import { randomUUID } from "node:crypto";
import { access, constants, mkdir, readdir, readFile, rm, statfs, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { readShop } from "@kitforme/kit";
import { besideFile, failureOf, profilesBeside } from "@kitforme/run";
import type { Redis } from "ioredis";
import type { Context } from "./context.ts";
import { storeMustBeThere } from "./freeze.ts";

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

/** Why prepared pieces cannot be kept in a folder that was named for them. Makes it when there is none. */
export const faultsOfCache = async (cache: string): Promise<string[]> => {
  const probe = join(cache, `.kitforme-${randomUUID()}.part`);
  try {
    await mkdir(cache, { recursive: true });
    await writeFile(probe, "");
    await rm(probe);
    return [];
  } catch (error) {
    return [
      `The cache folder ${cache} cannot be written by ${whoAmI()} (${codeOf(error)}): give the folder to this user, or name another with --cache (KITFORME_CACHE).`,
    ];
  }
};

/** Bytes that a disk must have left for a job to be worth starting. */
const ROOM = 8 << 20;

/**
 * What is wrong with the folder of jobs now; undefined when it can be written. Makes nothing: a share that has gone away must
 * not be replaced by a folder on the machine's own disk.
 */
export const faultOfOutNow = async ({
  settings: { out },
  memory,
}: Pick<Context, "settings" | "memory">): Promise<string | undefined> => {
  const probe = join(out, `.kitforme-${randomUUID()}.part`);
  try {
    await storeMustBeThere(out, memory);
    const { bavail, bsize } = await statfs(out);
    if (bavail * bsize < ROOM) return `the disk is full (ENOSPC): ${out} has less than ${ROOM >> 20} MiB left`;
    await writeFile(probe, new Uint8Array(65_536));
    return undefined;
  } catch (error) {
    return failureOf(error).message;
  } finally {
    await rm(probe, { force: true }).catch(() => undefined);
  }
};

/** What is wrong with the folder of kits now. */
export const faultOfKitsNow = async (kits: string): Promise<string | undefined> => {
  try {
    return (await readdir(kits)).length > 0 ? undefined : `folder ${kits} is empty: is its share mounted?`;
  } catch (error) {
    return failureOf(error).message;
  }
};

/** What is wrong with the shop's file now, its first fault in words; undefined when orders can be made of it. */
export const faultOfShopNow = async (shop: string): Promise<string | undefined> => {
  try {
    const text = await readFile(shop, "utf8");
    const { findings } = readShop(text, await profilesBeside({ text, read: besideFile(shop) }));
    const first = findings.find((f) => f.level === "error");
    return first && `the shop's file ${shop} cannot be used: ${first.message}`;
  } catch (error) {
    return failureOf(error).message;
  }
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

/** Pauses the work when an error says that Redis may take no more, until it takes something again. */
export const fullRedis = ({ redis, keys, guard }: Context, error: unknown): void => {
  if (!(error instanceof Error) || !/^OOM\b/.test(error.message)) return;
  const cause = "Redis is full (maxmemory): it takes no changes; give it more memory";
  guard.trip("redis", cause, () =>
    redis.set(`${keys.prefix}-room`, "1", "PX", 1_000).then(
      () => undefined,
      () => cause,
    ),
  );
};
