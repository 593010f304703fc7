import type { Finding } from "@kitforme/kit";
import { saySums } from "./words.ts";
import { SUMS, sumOf } from "./sums-in.ts";

/** A kit's files, each held against its sum as it is read. */
export interface HeldAgainst {
  readonly read: (path: string) => Promise<Uint8Array | undefined>;
  /** What was found so far, by the paths of the files. */
  readonly findings: () => readonly Finding[];
}

/** A line of `sha256sum`: the sum, a space, a space or a star (read as text or as binary, which is the same), the name. */
const LINE = /^([0-9a-f]{64}) [ *](?:\.\/)?(.+)$/i;

/** The same name on every system: some write an accent as a letter of its own. */
const nameOf = (path: string): string => path.normalize("NFC");

/**
 * Where a kit brings sums of its files (`SHA256SUMS`), every file that is read is held against its own: one that was damaged or
 * exchanged on its way is an error, whatever it looks like. Without them files are read as they are.
 */
export const holdAgainstSums = async (
  kit: string,
  read: (path: string) => Promise<Uint8Array | undefined>,
): Promise<HeldAgainst> => {
  const bytes = await read(SUMS);
  if (!bytes) return { read, findings: () => [] };
  const sums = new Map<string, string>();
  const found = new Map<string, Finding>();
  const text = new TextDecoder().decode(bytes);
  for (const [i, line] of text.split(/\r?\n/).entries()) {
    if (line === "") continue;
    const [, sum = "", path = ""] = LINE.exec(line) ?? [];
    const name = nameOf(path);
    if (sum === "" || (sums.get(name) ?? sum.toLowerCase()) !== sum.toLowerCase())
      found.set(`line ${i}`, saySums("sums-unreadable", { kit, file: SUMS }, { line: i + 1, twice: sum ? name : "" }));
    else sums.set(name, sum.toLowerCase());
  }
  const hold = (path: string, file: Uint8Array): void => {
    const sum = sums.get(nameOf(path));
    const where = { kit, file: path };
    if (sum === undefined) found.set(path, saySums("file-unsummed", where, { path }));
    else if (sum !== sumOf(file)) found.set(path, saySums("file-changed", where, { path, bytes: file.length }));
  };
  return {
    read: async (path) => {
      const file = await read(path);
      if (file) hold(path, file);
      return file;
    },
    findings: () => [...found.values()],
  };
};
