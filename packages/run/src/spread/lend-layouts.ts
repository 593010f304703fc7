// What is handed over so that others can lay out stocks of a job, and what comes back.
import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { deserialize, serialize } from "node:v8";
import { gang, type GangRequest, type Plan } from "@kitforme/layout";
import { layWhole } from "../lay-whole.ts";
import { makeFolder } from "../make-folder.ts";
import { sealed, unsealed } from "../sealed.ts";

/** A layout's request as data: threads and watchers are of whoever searches it. */
export type LentRequest = Omit<GangRequest, "threads" | "signal" | "onProgress">;

const nameOf = (number: number): string => `layout-${number}`;

/** Lays requests of the list into the folder, which is made. */
export const lendLayouts = async (
  folder: string,
  requests: readonly LentRequest[],
  numbers: readonly number[],
): Promise<void> => {
  await makeFolder(folder);
  for (const number of numbers) await layWhole(join(folder, nameOf(number)), serialize(requests[number]));
};

/** Searches a layout that was lent, and lays it. Throws when the request is not there. */
export const layOutLent = async (folder: string, number: number, name: string): Promise<void> => {
  const request = deserialize(await readFile(join(folder, nameOf(number)))) as LentRequest;
  await layWhole(join(folder, name), sealed(serialize(await gang({ ...request, threads: 1 }))));
};

/** A layout that another found; undefined when it is not there or not whole. */
export const takeLayout = async (folder: string, name: string): Promise<Plan | undefined> => {
  const bytes = await readFile(join(folder, name)).catch(() => undefined);
  const body = bytes && unsealed(bytes);
  return body && (deserialize(body) as Plan);
};
