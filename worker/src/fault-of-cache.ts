import { mkdir } from "node:fs/promises";
import type { Finding } from "@kitforme/run";
import { whyUnwritable } from "./fault-of-out.ts";
import { say } from "./faults.ts";

/** Why prepared pieces cannot be kept in a folder that was named for them, as a finding. Makes it when there is none. */
export const faultOfCache = async (folder: string | undefined): Promise<Finding | undefined> => {
  if (folder === undefined) return undefined;
  const why = await whyUnwritable(folder);
  if (why !== undefined) return say("cache-unwritable", { file: folder }, { why });
  await mkdir(folder, { recursive: true });
  return undefined;
};
