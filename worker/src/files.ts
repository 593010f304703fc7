import { readFile } from "node:fs/promises";
import type { Finding } from "@kitforme/kit";
import { say } from "./faults.ts";

/** What is wrong with a path that somebody gave; any other code of the system is the disk's trouble, not theirs. */
const WHY: Readonly<Record<string, string>> = {
  ENOENT: "there is no such file or folder",
  ENOTDIR: "it is no folder, or a part of its path is none",
  EISDIR: "it is a folder",
  EACCES: "it may not be read",
  EPERM: "it may not be read",
  ELOOP: "its links lead in a circle",
  ENAMETOOLONG: "its name is too long",
  ERR_FS_FILE_TOO_LARGE: "it is too large",
  ERR_STRING_TOO_LONG: "it is too large",
};

/** The finding that a file or folder named by a user cannot be read, and why. Throws when the disk is at fault. */
export const unreadable = (path: string, what: string, error: unknown): Finding => {
  const why = WHY[error instanceof Error && "code" in error ? String(error.code) : ""];
  if (why === undefined) throw error;
  return say("file-unreadable", { file: path }, { what, why });
};

/** A text file named by a user, or the finding that says why it cannot be read. Throws when the disk is at fault. */
export const readNamed = async (path: string, what: string): Promise<{ text: string } | { finding: Finding }> => {
  try {
    return { text: await readFile(path, "utf8") };
  } catch (error) {
    return { finding: unreadable(path, what, error) };
  }
};
