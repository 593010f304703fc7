import { mkdir, stat } from "node:fs/promises";
import { dirname } from "node:path";

const codeOf = (error: unknown): string => (error instanceof Error && "code" in error ? String(error.code) : "");

/**
 * Makes a folder with its parents. Step by step: Node's own recursive way says of a read-only disk that a folder is missing.
 * Throws the system's error about the one folder that could not be made.
 *
 * @example
 * await makeFolder("jobs/monday/out");
 */
export const makeFolder = async (folder: string): Promise<void> => {
  try {
    await mkdir(folder);
  } catch (error) {
    const parent = dirname(folder);
    if (codeOf(error) === "ENOENT" && parent !== folder) {
      await makeFolder(parent);
      await makeFolder(folder);
    } else if (
      !(await stat(folder).then(
        (s) => s.isDirectory(),
        () => false,
      ))
    )
      throw error;
  }
};
