import { randomUUID } from "node:crypto";
import { constants, type Stats } from "node:fs";
import { open, readdir, realpath, rename, rm, stat } from "node:fs/promises";
import { dirname, join, sep } from "node:path";
import { makeFolder } from "./make-folder.ts";
import { type Destination, type GrowingFile, type KitStore, Unfit } from "./world.ts";

const hasCode = (error: unknown, codes: readonly string[]): boolean =>
  error instanceof Error && "code" in error && codes.includes(String(error.code));

/** There is no such file, in whatever words the system says so; all else (a network folder that is away, say) is an environment fault. */
const missing = (error: unknown): boolean => hasCode(error, ["ENOENT", "ENOTDIR", "EISDIR", "ELOOP", "ENAMETOOLONG"]);

/** Bytes of the largest file of a kit that is read: TIFFs of 100 million CMYK pixels have 400 MB. */
const LARGEST = 512 * 2 ** 20;
/** kit.json is read whole before anything is known of it; 10,000 pieces take 4 MB. */
const LARGEST_KIT = 16 * 2 ** 20;

/** A plain file's bytes. Opening does not wait: a named pipe without a writer would for ever. */
const readPlain = async (path: string): Promise<Uint8Array> => {
  // Windows knows neither the flag nor such files.
  const file = await open(path, constants.O_RDONLY | (constants.O_NONBLOCK ?? 0)).catch((error: unknown) => {
    // What opening a socket says.
    if (hasCode(error, ["ENXIO", "EOPNOTSUPP"])) throw new Unfit("no plain file");
    throw error;
  });
  try {
    const facts = await file.stat();
    if (!facts.isFile()) throw new Unfit(kindOf(facts));
    const most = path.endsWith(`${sep}kit.json`) ? LARGEST_KIT : LARGEST;
    if (facts.size > most) throw new Unfit(`larger than ${most / 2 ** 20} MiB`);
    return await file.readFile();
  } finally {
    await file.close();
  }
};

const kindOf = (facts: Stats): string =>
  facts.isFIFO()
    ? "a named pipe"
    : facts.isSocket()
      ? "a socket"
      : facts.isDirectory()
        ? "a folder"
        : facts.isCharacterDevice() || facts.isBlockDevice()
          ? "a device"
          : "no plain file";

/**
 * A folder of kit folders as a store. A link that leads out of its kit's folder reads as "no such file".
 *
 * @example
 * const folders = await kitsIn("kits").folders(); // ["harbour-lantern", "keepsake"]
 */
export const kitsIn = (root: string): KitStore => ({
  async folders() {
    const entries = await readdir(root);
    const kits: string[] = [];
    for (const name of entries.sort()) {
      const found = await stat(join(root, name, "kit.json")).catch((error: unknown) => {
        // Folders that are none of ours may be shut to us (a disk's own "lost+found").
        if (missing(error) || hasCode(error, ["EACCES", "EPERM"])) return undefined;
        throw error;
      });
      if (found?.isFile() === true) kits.push(name);
    }
    return kits;
  },
  async read(folder, path) {
    try {
      const home = await realpath(join(root, folder));
      const file = await realpath(join(home, ...path.split("/")));
      return file.startsWith(home + sep) ? await readPlain(file) : undefined;
    } catch (error) {
      if (missing(error)) return undefined;
      throw error;
    }
  },
});

/**
 * Files beside an order's file, in its folder or below; what a link leads out of it reads as "no such file".
 *
 * @example
 * const order = { file: "orders/7.json", text: await readFile("orders/7.json", "utf8"), read: besideFile("orders/7.json") };
 */
export const besideFile = (path: string): ((beside: string) => Promise<Uint8Array | undefined>) => {
  const home = dirname(path);
  return async (beside) => {
    try {
      const folder = await realpath(home);
      const file = await realpath(join(folder, ...beside.split("/")));
      return file.startsWith(folder === sep ? sep : folder + sep) ? await readPlain(file) : undefined;
    } catch (error) {
      if (missing(error)) return undefined;
      throw error;
    }
  };
};

/**
 * Several kit folders, each with its own path, as one store (`check` is given them one by one).
 *
 * @example
 * await check({ shop, orders: [], folders: ["kits/lantern"] }, kitsAt(["kits/lantern"]));
 */
export const kitsAt = (paths: readonly string[]): KitStore => {
  const byName = new Map(paths.map((path) => [path.replace(/[\\/]+$/, ""), path]));
  const split = (path: string) => {
    const at = Math.max(path.lastIndexOf("/"), path.lastIndexOf(sep));
    return at < 0 ? { root: ".", folder: path } : { root: path.slice(0, at) || sep, folder: path.slice(at + 1) };
  };
  return {
    folders: () => Promise.resolve([...byName.keys()]),
    read(folder, path) {
      const { root, folder: name } = split(folder);
      return kitsIn(root).read(name, path);
    },
  };
};

export const MANIFEST = "job.json";
/** Names that a job writes: only these are ever removed from a folder that is used again. */
export const OURS =
  /^(job\.(json|print(-\d+)?\.pdf|docket\.(pdf|txt)|estimate\.json|slips\.pdf|assembly\.pdf|html|xjdf|input\.zip)|sheet-\d{3,}\.(print\.pdf|cut\.(svg|dxf|hpgl|pdf)|(back\.)?proof\.png))$/;
const TEMPORARY = /^\.kitforme-[0-9a-f-]{36}\.part$/;

/**
 * A real folder as a destination. A file appears under its name only when it is whole and on the disk (temporary name,
 * sync, rename); the manifest of an earlier job is taken away first, so a folder with `job.json` is always finished.
 *
 * @example
 * await run({ shop, orders: [order] }, { kits: kitsIn("kits"), out: (job) => jobFolder(join("jobs", job)) });
 */
export const jobFolder = (folder: string): Destination => {
  const written = new Set<string>();
  const write = async (name: string, bytes: Uint8Array) => {
    if (!OURS.test(name)) throw new Error(`${name} is not a name a job folder holds`);
    const part = join(folder, `.kitforme-${randomUUID()}.part`);
    const file = await open(part, "wx");
    try {
      try {
        await file.writeFile(bytes);
        await file.sync();
      } finally {
        await file.close();
      }
      await rename(part, join(folder, name));
    } catch (error) {
      // On a full disk half a file would take the room that is needed to say so.
      await rm(part, { force: true }).catch(() => undefined);
      // The system names no path when a write fails: say which file did not get onto the disk.
      throw new Error(join(folder, name), { cause: error });
    }
    written.add(name);
  };
  const begin = async (name: string): Promise<GrowingFile> => {
    if (!OURS.test(name)) throw new Error(`${name} is not a name a job folder holds`);
    const part = join(folder, `.kitforme-${randomUUID()}.part`);
    const named = <T>(work: Promise<T>): Promise<T> =>
      work.catch((error: unknown) => {
        throw new Error(join(folder, name), { cause: error });
      });
    const file = await named(open(part, "wx+"));
    let end = 0;
    const append = async (bytes: Uint8Array): Promise<void> => {
      // By place: what was half written on a full disk is written over when it is tried again.
      for (let done = 0; done < bytes.length; )
        done += (await file.write(bytes, done, bytes.length - done, end + done)).bytesWritten;
      end += bytes.length;
    };
    const read = async (at: number, length: number): Promise<Uint8Array> => {
      const bytes = new Uint8Array(length);
      for (let done = 0; done < length; ) {
        const { bytesRead } = await file.read(bytes, done, length - done, at + done);
        if (bytesRead === 0) throw new Error(`${name} ends before ${at + length}`);
        done += bytesRead;
      }
      return bytes;
    };
    const keep = async (): Promise<void> => {
      await file.sync();
      await rename(part, join(folder, name));
      written.add(name);
      await file.close();
    };
    return {
      append: (bytes) => named(append(bytes)),
      read: (at, length) => named(read(at, length)),
      keep: () => named(keep()),
      async drop() {
        await file.close().catch(() => undefined);
        await rm(part, { force: true }).catch(() => undefined);
      },
    };
  };
  return {
    begin,
    async open() {
      await makeFolder(folder);
      await rm(join(folder, MANIFEST), { force: true });
      for (const name of await readdir(folder)) if (TEMPORARY.test(name)) await rm(join(folder, name), { force: true });
    },
    put: write,
    async finish(name, bytes) {
      for (const old of await readdir(folder))
        if (OURS.test(old) && !written.has(old)) await rm(join(folder, old), { force: true });
      await write(name, bytes);
      // The rename itself must survive a power cut: sync the folder's entry too, where the system lets us.
      const entry = await open(folder, "r").catch(() => null);
      if (entry) {
        await entry.sync().catch(() => undefined);
        await entry.close();
      }
    },
  };
};

/**
 * A destination that keeps everything in memory, for library users and tests.
 *
 * @example
 * const folder = inMemory();
 * await run({ shop, orders: [order] }, { kits: kitsIn("kits"), out: () => folder });
 * const print = folder.files.get("sheet-001.print.pdf");
 */
export const inMemory = (): Destination & { readonly files: Map<string, Uint8Array> } => {
  const files = new Map<string, Uint8Array>();
  return {
    files,
    open: () => Promise.resolve(files.clear()),
    put: (name, bytes) => Promise.resolve(void files.set(name, bytes)),
    finish: (name, bytes) => Promise.resolve(void files.set(name, bytes)),
  };
};
