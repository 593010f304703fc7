import { createHash } from "node:crypto";
import { readdirSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { dirname, join, relative, sep } from "node:path";
import { fileURLToPath } from "node:url";
import { versions } from "./versions.ts";

/** Our own packages, by the beginning of their names. */
const OURS = "@kitforme/";

/** What is no code: declarations, maps, records of the compiler. */
const NO_CODE = /\.d\.ts$|\.map$|\.tsbuildinfo$/;

let known: string | undefined;

/**
 * A hash of all that decides bytes beside the input: our code, the libraries, Node, the kind of processor. A version is not
 * enough: two states of the sources may bear the same, and what one has kept the other must not print. Hashing takes 30 ms, once
 * a process.
 *
 * @example
 * const program = await hashProgram(); // 64 hexadecimal digits: where they are the same, the same input gives the same bytes
 */
export const hashProgram = async (): Promise<string> => {
  known ??= hashCode(dirname(fileURLToPath(import.meta.url)));
  return createHash("sha256")
    .update(JSON.stringify([known, await versions(), process.version, process.arch]))
    .digest("hex");
};

/**
 * A hash of the code in a folder, and in those of our packages that the package.json above it leads to, wherever they are
 * installed. Each package.json counts too, which pins the libraries. The same on every machine: paths go in as they are within
 * their package.
 */
export const hashCode = (code: string): string => {
  const hash = createHash("sha256");
  for (const [name, folder] of [...packagesFrom(code)].sort(([a], [b]) => (a < b ? -1 : 1))) {
    const files = readdirSync(folder, { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile() && !NO_CODE.test(entry.name))
      .map((entry) => join(entry.parentPath, entry.name))
      .sort();
    for (const file of [...files, join(folder, "../package.json")]) {
      const bytes = readFileSync(file);
      hash.update(`${name} ${relative(folder, file).split(sep).join("/")} ${bytes.length}\n`).update(bytes);
    }
  }
  return hash.digest("hex");
};

/** Folders of code by the names of their packages, the one it begins with among them. */
const packagesFrom = (code: string): ReadonlyMap<string, string> => {
  const found = new Map<string, string>();
  const visit = (folder: string): void => {
    const manifest = join(folder, "../package.json");
    const { name, dependencies = {} } = JSON.parse(readFileSync(manifest, "utf8")) as {
      readonly name: string;
      readonly dependencies?: Readonly<Record<string, string>>;
    };
    if (found.has(name)) return;
    found.set(name, folder);
    for (const other of Object.keys(dependencies).filter((one) => one.startsWith(OURS)))
      visit(dirname(createRequire(manifest).resolve(other)));
  };
  visit(code);
  return found;
};
