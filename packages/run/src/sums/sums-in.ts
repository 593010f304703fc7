import { createHash } from "node:crypto";
import { readdir, readFile } from "node:fs/promises";
import { join } from "node:path";

/**
 * Name of the file of a kit's check sums, the one that such files have everywhere.
 *
 * @example
 * await writeFile(join("kits/lantern", SUMS), await sumsIn("kits/lantern"));
 */
export const SUMS = "SHA256SUMS";

/** The SHA-256 of some bytes, in 64 hexadecimal digits. */
export const sumOf = (bytes: Uint8Array): string => createHash("sha256").update(bytes).digest("hex");

/**
 * The text of a folder's `SHA256SUMS`: a line for each plain file in it or below, as `sha256sum` of GNU coreutils writes and
 * checks them. Hidden files and links are left out, and so is the file itself.
 *
 * @example
 * await writeFile("kits/lantern/SHA256SUMS", await sumsIn("kits/lantern"));
 */
export const sumsIn = async (folder: string): Promise<string> => {
  const lines: string[] = [];
  const walk = async (prefix: string): Promise<void> => {
    const entries = await readdir(join(folder, prefix), { withFileTypes: true });
    for (const entry of entries.sort((a, b) => (a.name < b.name ? -1 : 1))) {
      const path = prefix + entry.name;
      if (entry.name.startsWith(".") || path === SUMS) continue;
      if (entry.isDirectory()) await walk(`${path}/`);
      // Names with such signs in them are refused wherever a kit names a file.
      else if (entry.isFile() && !/[\\\n\r]/.test(path))
        lines.push(`${sumOf(await readFile(join(folder, path)))}  ${path}\n`);
    }
  };
  await walk("");
  return lines.join("");
};
