import { randomUUID } from "node:crypto";
import { open, readdir, readFile, rename, rm, rmdir, stat } from "node:fs/promises";
import { dirname, join, resolve } from "node:path";
import { FailedRun } from "./failures.ts";
import { jobFolder, MANIFEST, OURS } from "./folders.ts";
import type { Destination } from "./world.ts";

/**
 * A job folder that somebody has finished for another job stands where this one should go.
 *
 * @example
 * const attempt = await attemptAt("out", false);
 * await attempt.publish().catch((error: unknown) => {
 *   if (error instanceof HoldsAnotherJob) console.log(error.folder, "is taken");
 *   else throw error;
 * });
 */
export class HoldsAnotherJob extends Error {
  readonly folder: string;
  constructor(folder: string) {
    super(`${folder} holds another finished job`);
    this.folder = folder;
  }
}

const codeOf = (error: unknown): string => (error instanceof Error && "code" in error ? String(error.code) : "");

/**
 * Whether a folder is a finished job: its manifest is written last.
 *
 * @example
 * if (await isFinished("jobs/monday")) console.log("monday is made");
 */
export const isFinished = (folder: string): Promise<boolean> =>
  stat(join(folder, MANIFEST)).then(
    (s) => s.isFile(),
    (error: unknown) => {
      if (["ENOENT", "ENOTDIR"].includes(codeOf(error))) return false;
      throw error;
    },
  );

/** A rename must survive a power cut: the folder's own entry is written through, where the system lets us. */
const syncFolder = async (folder: string): Promise<void> => {
  const entry = await open(folder, "r").catch(() => null);
  if (!entry) return;
  await entry.sync().catch(() => undefined);
  await entry.close();
};

/**
 * Puts a finished attempt in its place by one rename, which the system refuses when anything stands there: a finished
 * folder is never replaced, however late the caller wakes up. `there`: a finished folder of this name stands there already,
 * and the attempt, if it is still there, was not needed. `gone`: neither stands anywhere.
 * Throws an environment failure when something unfinished is in the way: it is another's, and for its owner to move.
 *
 * @example
 * const how = await publishFolder("jobs/.monday.part", "jobs/monday"); // "published", "there" or "gone"
 */
export const publishFolder = async (attempt: string, folder: string): Promise<"published" | "there" | "gone"> => {
  try {
    await rename(attempt, folder);
    await syncFolder(dirname(folder));
    return "published";
  } catch (error) {
    if (await isFinished(folder)) return "there";
    const code = codeOf(error);
    if (code === "ENOENT") {
      await stat(dirname(folder)); // the whole place may be away: then that is what is thrown
      return "gone";
    }
    if (code !== "ENOTEMPTY" && code !== "EEXIST" && code !== "ENOTDIR") throw error;
    const message = `${folder} is in the way: it has files but no ${MANIFEST}, so it is no finished job; move it away`;
    throw new FailedRun({ kind: "environment", message });
  }
};

const manifestOf = (folder: string): Promise<Buffer | undefined> =>
  readFile(join(folder, MANIFEST)).catch(() => undefined);

const entriesOf = (folder: string): Promise<string[]> =>
  readdir(folder).catch((error: unknown) => {
    if (codeOf(error) === "ENOENT") return [];
    throw error;
  });

const ATTEMPT = /^\.kitforme-[0-9a-f-]{36}\.part$/;
/** Attempts of killed processes are cleared away after a day: until then they may be somebody's who is at work. */
const STALE = 24 * 3600_000;

const clearStale = async (place: string): Promise<void> => {
  for (const name of await entriesOf(place).catch(() => [])) {
    if (!ATTEMPT.test(name)) continue;
    const found = await stat(join(place, name)).catch(() => undefined);
    if (found && Date.now() - found.mtimeMs > STALE) await rm(join(place, name), { recursive: true, force: true });
  }
};

/** A job folder that is written beside its place and put there whole. */
export interface Attempt {
  /** For `run`; `ready` throws `HoldsAnotherJob` at once when the place is another job's and may not be replaced. */
  destination(job: string): Destination;
  publish(): Promise<void>;
  /** Takes the attempt away again; nothing of it is left anywhere. Does nothing once it is published. */
  discard(): Promise<void>;
  /** Where it is written, for those who must end at once. */
  readonly folder: string;
  /** Folders above it that were not there before, the innermost first: taken away with it, as far as nothing else lies in them. */
  readonly parents: readonly string[];
}

/**
 * Prepares to write a job into `folder`. The files are written into a folder of their own and moved when all are there: by
 * one rename where nothing stands at `folder` yet; file by file, `job.json` last, into a folder that is there already.
 * Another job's finished folder is never touched unless `replace` says so.
 *
 * @example
 * const attempt = await attemptAt("out", false);
 * try {
 *   const { job } = await run({ shop, orders: [order] }, { kits: kitsIn("kits"), out: (name) => attempt.destination(name) });
 *   if (job) await attempt.publish();
 * } finally {
 *   await attempt.discard();
 * }
 */
export const attemptAt = async (folder: string, replace: boolean): Promise<Attempt> => {
  const place = resolve(folder);
  const beside = await stat(place).then(
    () => false,
    () => true,
  );
  const within = beside ? dirname(place) : place;
  // Nothing is made before there is something to write.
  const parents = await missingFrom(within);
  await clearStale(within);
  const attempt = join(within, `.kitforme-${randomUUID()}.part`);
  const nameThere = async (): Promise<string | undefined> => {
    const bytes = await manifestOf(place);
    if (!bytes) return undefined;
    try {
      return String((JSON.parse(bytes.toString("utf8")) as { job?: unknown }).job);
    } catch {
      return "";
    }
  };
  let job = "";
  const mustBeFree = async (): Promise<void> => {
    const there = await nameThere();
    if (there !== undefined && there !== job && !replace) throw new HoldsAnotherJob(folder);
  };
  return {
    folder: attempt,
    parents,
    destination(name) {
      job = name;
      return { ...jobFolder(attempt), ready: mustBeFree };
    },
    async publish() {
      await mustBeFree();
      if (beside) {
        if ((await publishFolder(attempt, place)) !== "there") return;
        await mustBeFree();
      }
      await moveInto(attempt, place);
    },
    async discard() {
      await rm(attempt, { recursive: true, force: true });
      for (const parent of parents) await rmdir(parent).catch(() => undefined);
    },
  };
};

/** Folders that are not there, from this one upwards. */
const missingFrom = async (folder: string): Promise<string[]> =>
  (await stat(folder).then(
    () => true,
    (error: unknown) => codeOf(error) !== "ENOENT",
  )) || dirname(folder) === folder
    ? []
    : [folder, ...(await missingFrom(dirname(folder)))];

/** File by file into a folder with other things in it; it looks finished only before the first and after the last. */
const moveInto = async (attempt: string, place: string): Promise<void> => {
  const files = (await readdir(attempt)).filter((name) => name !== MANIFEST);
  await rm(join(place, MANIFEST), { force: true });
  for (const name of files) await rename(join(attempt, name), join(place, name));
  for (const old of await readdir(place))
    if (OURS.test(old) && !files.includes(old)) await rm(join(place, old), { force: true });
  await rename(join(attempt, MANIFEST), join(place, MANIFEST));
  await rm(attempt, { recursive: true, force: true });
  await syncFolder(place);
};
