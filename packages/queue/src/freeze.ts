import { createHash, randomUUID } from "node:crypto";
import { readdir, readFile, realpath, rename, rm, stat, utimes } from "node:fs/promises";
import { basename, dirname, join, sep } from "node:path";
import { badPath } from "@kitforme/kit";
import { besideFile, FailedRun, makeFolder, profilesBeside, Unfit } from "@kitforme/run";
import { HouseMemory } from "./house-memory.ts";
import { kitOf, picturesOf, shopOf, storeIn } from "./places.ts";
import { LARGEST_KEPT, putFrozen } from "./put-frozen.ts";

interface FileOfKit {
  readonly path: string;
  readonly file: string;
  readonly size: bigint;
  /** What must not have changed for the file to be the same. */
  readonly seen: string;
}

/** Files of a folder by their relative paths, sorted; links that lead out of it and what is no file are left out. */
const filesOf = async (folder: string): Promise<FileOfKit[]> => {
  const home = await realpath(folder);
  const found: FileOfKit[] = [];
  const walk = async (at: string, prefix: string): Promise<void> => {
    for (const entry of (await readdir(at, { withFileTypes: true })).sort((a, b) => (a.name < b.name ? -1 : 1))) {
      const path = `${prefix}${entry.name}`;
      const file = join(at, entry.name);
      if (entry.isDirectory()) await walk(file, `${path}/`);
      else if (entry.isFile() || entry.isSymbolicLink()) {
        const real = await realpath(file).catch(() => undefined);
        const what = real?.startsWith(home + sep) ? await stat(real, { bigint: true }) : undefined;
        if (real && what?.isFile())
          found.push({ path, file: real, size: what.size, seen: `${path} ${what.size} ${what.mtimeNs} ${what.ino}` });
      }
    }
  };
  await walk(home, "");
  return found;
};

/** Kits whose last copies are remembered. */
const MOST_KITS = 2_000;

/**
 * Keeps a copy of some files under the hash of their content. The copy is hashed as it is written and appears by one rename,
 * so what bears a hash is whole; a copy that is there already is used again.
 */
const keep = async (
  out: string,
  memory: HouseMemory,
  files: AsyncIterable<readonly [path: string, bytes: Uint8Array | number]>,
  placeOf: (hash: string) => { place: string; within: string },
): Promise<string> => {
  await storeMustBeThere(out, memory);
  const part = join(storeIn(out), `.${randomUUID()}.part`);
  const hash = createHash("sha256");
  try {
    await makeFolder(part);
    for await (const [path, bytes] of files) {
      const length = typeof bytes === "number" ? bytes : bytes.length;
      hash.update(`${Buffer.byteLength(path)}:${path}${length}:`).update(typeof bytes === "number" ? "" : bytes);
      await putFrozen(part, path, bytes);
    }
    const digest = hash.digest("hex").slice(0, 32);
    const { place, within } = placeOf(digest);
    await makeFolder(within);
    await rename(part, place).catch(async (error: NodeJS.ErrnoException) => {
      if (error.code !== "ENOTEMPTY" && error.code !== "EEXIST") throw error;
    });
    await touch(place);
    return digest;
  } finally {
    await rm(part, { recursive: true, force: true }).catch(() => undefined);
  }
};

/** Throws an environment fault when a store that was there is not there any more. */
export const storeMustBeThere = async (out: string, memory: HouseMemory): Promise<void> => {
  const there = await stat(storeIn(out)).then(
    (s) => s.isDirectory(),
    () => false,
  );
  if (there) memory.seen.add(out);
  else if (memory.seen.has(out)) {
    await stat(out);
    const message = `${storeIn(out)} is not there any more: is the share of ${out} mounted?`;
    throw new FailedRun({ kind: "environment", message });
  }
};

/** What was frozen or used again just now is not swept away before an order is known to need it. */
const touch = (place: string): Promise<void> => utimes(place, new Date(), new Date());

/**
 * Freezes a kit's folder. Returns its id in the store, `<hash>/<folder>`. Throws environment faults of the disk.
 *
 * @param memory what the caller's process remembers: a folder that looks as it did is not read again
 */
export const freezeKit = async (out: string, folder: string, memory = new HouseMemory()): Promise<string> => {
  const name = basename(folder);
  const files = await filesOf(folder);
  const seen = files.map((f) => f.seen).join("\n");
  const key = `${out}\n${folder}`;
  const known = memory.frozen.get(key);
  if (
    known?.seen === seen &&
    (await touch(kitOf(out, known.id)).then(
      () => true,
      () => false,
    ))
  ) {
    memory.count("frozen", 1, 0);
    return known.id;
  }
  memory.count("frozen", 0, 1);
  const bytes = async function* () {
    for (const { path, file, size } of files)
      yield [path, size > LARGEST_KEPT ? Number(size) : await readFile(file)] as const;
  };
  const hash = await keep(out, memory, bytes(), (digest) => ({
    place: kitOf(out, `${digest}/${name}`),
    within: dirname(kitOf(out, `${digest}/${name}`)),
  }));
  const id = `${hash}/${name}`;
  if (memory.frozen.size >= MOST_KITS) memory.frozen.clear();
  memory.frozen.set(key, { seen, id });
  return id;
};

/** Freezes a shop whose text has been read and found good, with the profiles that its presses name. Returns its id in the store. */
export const freezeShop = async (out: string, file: string, text: string, memory: HouseMemory): Promise<string> => {
  const profiles = await profilesBeside({ text, read: besideFile(file) });
  const files = async function* () {
    yield ["shop.json", Buffer.from(text)] as const;
    for (const path of Object.keys(profiles).sort()) yield [path, profiles[path] as Uint8Array] as const;
  };
  return keep(out, memory, files(), (digest) => ({ place: shopOf(out, digest), within: dirname(shopOf(out, digest)) }));
};

/** Paths of the pictures beside an order that its texts name, each once, sorted. */
export const picturesNamedIn = (content: unknown): string[] => {
  const { lines } = content as { lines?: readonly { texts?: readonly Record<string, unknown>[] }[] };
  const files = (lines ?? []).flatMap(({ texts }) =>
    (texts ?? []).flatMap((copy) =>
      Object.values(copy).flatMap((said) => {
        const file = typeof said === "object" && said !== null && "file" in said ? said.file : undefined;
        return typeof file === "string" && badPath(file) === undefined ? [file] : [];
      }),
    ),
  );
  return [...new Set(files)].sort();
};

/** Freezes the pictures beside an order's file; one that is not there is left out, for the check to report. Returns their id. */
export const freezePictures = async (
  out: string,
  order: string,
  paths: readonly string[],
  memory: HouseMemory,
): Promise<string> => {
  const read = besideFile(order);
  const files = async function* () {
    // Something must stand there even when no picture was found.
    yield ["order", new Uint8Array()] as const;
    for (const path of paths) {
      const bytes = await read(path).catch((error: unknown) => {
        if (error instanceof Unfit) return undefined;
        throw error;
      });
      if (bytes) yield [path, bytes] as const;
    }
  };
  return keep(out, memory, files(), (digest) => ({
    place: picturesOf(out, digest),
    within: dirname(picturesOf(out, digest)),
  }));
};
