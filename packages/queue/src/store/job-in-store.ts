import { readdir, readFile, stat, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { FailedRun, makeFolder } from "@kitforme/run";
import type { ObjectStore } from "./object-store.ts";

const MANIFEST = "job.json";

/** Where a job lies in a store. */
export const addressOfJob = ({ address: { bucket, prefix } }: ObjectStore, job: string): string =>
  `s3://${bucket}/${prefix}jobs/${job}/`;

/**
 * Puts a finished folder into the store, its manifest last and only where there is none: a job in the store with `job.json` is
 * finished, and is never replaced. Whoever may do so was decided before, by the gang's token. False when there is no folder to
 * put, and no such job in the store either. Throws an environment fault when another job has the name.
 */
export const sendJob = async (store: ObjectStore, folder: string, job: string): Promise<boolean> => {
  const place = `jobs/${job}/`;
  const names = await readdir(folder).catch(async (error: NodeJS.ErrnoException) => {
    if (error.code !== "ENOENT") throw error;
    await stat(join(folder, "..")); // the whole place may be away: then that is what is thrown
    return undefined;
  });
  if (!names) return (await store.get(place + MANIFEST)) !== undefined;
  const manifest = await readFile(join(folder, MANIFEST));
  const before = await store.get(place + MANIFEST);
  if (before) return mustBe(manifest, before, store, job);
  for (const name of names.sort())
    if (name !== MANIFEST) await store.put(place + name, await readFile(join(folder, name)));
  if (await store.putNew(place + MANIFEST, manifest)) return true;
  return mustBe(manifest, await store.get(place + MANIFEST), store, job);
};

/** Lays what is needed to print something of a finished job again into a folder: its manifest and its record, as far as they are there. */
export const fetchRecord = async (store: ObjectStore, job: string, folder: string): Promise<string> => {
  await makeFolder(folder);
  for (const name of [MANIFEST, "job.input.zip"]) {
    const bytes = await store.get(`jobs/${job}/${name}`);
    if (bytes) await writeFile(join(folder, name), bytes);
  }
  return folder;
};

const mustBe = (manifest: Buffer, there: Uint8Array | undefined, store: ObjectStore, job: string): true => {
  if (there && manifest.equals(there)) return true;
  const message = `${addressOfJob(store, job)} holds another finished job; move it away`;
  throw new FailedRun({ kind: "environment", message });
};
