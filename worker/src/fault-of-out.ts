import { access, constants, stat } from "node:fs/promises";
import { dirname, resolve } from "node:path";
import type { Finding } from "@kitforme/run";
import { say } from "./faults.ts";

/**
 * Why nothing could be written into a folder, as a finding; undefined when something can. Asked before the work, not
 * after it, and nothing is made: the folder may not be there yet, then its nearest parent that is must take it.
 */
export const faultOfOut = async (folder: string): Promise<Finding | undefined> => {
  const why = await whyUnwritable(folder);
  return why === undefined ? undefined : say("folder-unwritable", { file: folder }, { why });
};

/** Why a folder, there or not, cannot be written, as the end of a sentence. */
export const whyUnwritable = async (folder: string): Promise<string | undefined> => {
  const at = await existing(resolve(folder));
  const what = await stat(at);
  if (!what.isDirectory()) return `${at} is a file`;
  return access(at, constants.W_OK | constants.X_OK).then(
    () => undefined,
    () => `${at} may not be written`,
  );
};

const existing = (path: string): Promise<string> =>
  stat(path).then(
    () => path,
    () => (dirname(path) === path ? path : existing(dirname(path))),
  );
