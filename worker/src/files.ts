import { readFile } from "node:fs/promises";
import type { Finding } from "@kitforme/kit";

/** A text file named on the command line, or the finding that says why it cannot be read. */
export const readNamed = async (path: string, what: string): Promise<{ text: string } | { finding: Finding }> => {
  try {
    return { text: await readFile(path, "utf8") };
  } catch (error) {
    const code = error instanceof Error && "code" in error ? String(error.code) : "unknown";
    const why =
      { ENOENT: "there is no such file", EISDIR: "it is a folder", EACCES: "it may not be read" }[code] ?? code;
    return {
      finding: {
        level: "error",
        rule: "file-unreadable",
        where: { file: path },
        message: `${what} cannot be read: ${why}`,
        hint: "check the path",
      },
    };
  }
};
