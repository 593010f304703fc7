import { lstat, readFile, realpath } from "node:fs/promises";
import { dirname, join } from "node:path";
import { Problem } from "../problem.ts";
import type { Context } from "../settings.ts";
import { typeOf } from "../types-of-files.ts";
import { statusNamed } from "./orders.ts";

export interface JobFile {
  readonly name: string;
  readonly type: string;
  readonly bytes: number;
  readonly sha256?: string;
}

/** Names that a job folder holds: no path, nothing hidden. */
const NAME = /^[A-Za-z0-9][\w-]*(\.[\w-]+)+$/;
const MANIFEST = "job.json";

const isAway = (error: unknown): boolean =>
  error instanceof Error && "code" in error && (error.code === "ENOENT" || error.code === "ENOTDIR");

/** Files of the jobs that made orders. Nothing outside of a job's folder, and no folder outside of the shop's jobs, is ever read. */
export const filesOf = (at: Context) => {
  /** The folder of the job that made an order. Throws 404, 409, 410. */
  const folderOf = async (order: string): Promise<{ name: string; job: string; folder: string }> => {
    const { order: name, state, answer } = await statusNamed(at, order);
    if (answer?.end !== "made") throw new Problem(409, "The order is not made.", { state });
    // Else every job would seem to be gone while the share is away; it throws an environment fault.
    const out = await realpath(at.settings.house.out);
    const folder = await realpath(answer.folder).catch((error: unknown) => {
      if (isAway(error)) return undefined;
      throw error;
    });
    if (folder === undefined || dirname(folder) !== out)
      throw new Problem(410, "The shop has removed the job's folder.");
    return { name, job: answer.job, folder };
  };
  const sizeOf = async (folder: string, name: string): Promise<number> => {
    const facts = NAME.test(name)
      ? await lstat(join(folder, name)).catch((error: unknown) => {
          if (isAway(error)) return undefined;
          throw error;
        })
      : undefined;
    // A link could lead anywhere.
    if (!facts?.isFile()) throw new Problem(404, "The job has no such file.");
    return facts.size;
  };
  return {
    list: async (order: string): Promise<{ order: string; job: string; files: readonly JobFile[] }> => {
      const { name, job, folder } = await folderOf(order);
      const bytes = await sizeOf(folder, MANIFEST);
      const manifest = JSON.parse(await readFile(join(folder, MANIFEST), "utf8")) as {
        files: readonly { name: string; bytes: number; sha256: string }[];
      };
      const all: JobFile[] = manifest.files.map((file) => ({
        name: file.name,
        type: typeOf(file.name),
        bytes: file.bytes,
        sha256: file.sha256,
      }));
      return { order: name, job, files: [{ name: MANIFEST, type: typeOf(MANIFEST), bytes }, ...all] };
    },
    /** The folder that holds the file, which is there and plain. */
    find: async (order: string, file: string): Promise<string> => {
      const { folder } = await folderOf(order);
      await sizeOf(folder, file);
      return folder;
    },
  };
};
