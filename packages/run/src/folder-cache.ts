import { mkdir, readdir, readFile, rm, stat, utimes } from "node:fs/promises";
import { join } from "node:path";
import { promisify } from "node:util";
import { deflate, inflate } from "node:zlib";
import { layWhole } from "./lay-whole.ts";
import { sealed, unsealed } from "./sealed.ts";

/** An entry takes no more than this share of the whole: it would drive out all others. */
const LARGEST = 0.25;
/** When the whole is too large, the least used go until this share is left. */
const KEPT = 0.9;
/** Entries written between two countings of what others have written too. */
const COUNTED = 50;
/** What is half written for so long was left by a process that was killed, ms. */
const STALE = 3600_000;
const ENTRY = /^[0-9a-f]{64}$/;

const [pack, unpack] = [promisify(deflate), promisify(inflate)];

/** A larger cache behind one, that takes and gives its entries as they are. */
export interface CacheBehind {
  get(key: string): Promise<Uint8Array | undefined>;
  put(key: string, entry: Uint8Array): Promise<void>;
}

/**
 * Bytes by a hash of all that they were made of, in a folder that any number of processes and machines share. Bounded: the
 * least recently used are deleted. The folder may be deleted at any time; an entry that is damaged, or a folder
 * that cannot be read or written, is as if nothing had been kept.
 *
 * @example
 * const openers = new Openers({}, new FolderCache("/var/cache/kitforme", 2 ** 30)); // pieces stay prepared from one job to the next
 */
export class FolderCache {
  hits = 0;
  misses = 0;
  readonly folder: string;
  readonly #most: number;
  readonly #behind: CacheBehind | undefined;
  #size = 0;
  /** Entries to be written before the folder is counted again. */
  #uncounted = 0;

  /**
   * @param most bytes that all entries together may take
   * @param behind asked for what does not lie in the folder, and given all that is put; bounded by whoever has it
   */
  constructor(folder: string, most: number, behind?: CacheBehind) {
    this.folder = folder;
    this.#most = most;
    this.#behind = behind;
  }

  /** @param key 64 hexadecimal digits */
  async get(key: string): Promise<Uint8Array | undefined> {
    const bytes = await this.#read(key).catch(() => undefined);
    if (bytes) this.hits++;
    else this.misses++;
    return bytes;
  }

  /** Whether the folder has an entry of the key, whole or not. */
  async has(key: string): Promise<boolean> {
    return stat(join(this.folder, key)).then(
      (facts) => facts.isFile(),
      () => false,
    );
  }

  async put(key: string, bytes: Uint8Array): Promise<void> {
    try {
      const entry = sealed(await pack(bytes, { level: 1 }));
      if (entry.length > LARGEST * this.#most) return;
      await this.#behind?.put(key, entry).catch(() => undefined);
      await this.#lay(key, entry);
    } catch {
      // Full, read-only or gone: the next one is made again.
    }
  }

  async #lay(key: string, entry: Uint8Array): Promise<void> {
    try {
      // Only the folder itself: a network folder that is away must not be replaced by folders on the disk under it.
      await mkdir(this.folder).catch(() => undefined);
      await layWhole(join(this.folder, key), entry);
      this.#size += entry.length;
      if (--this.#uncounted < 0 || this.#size > this.#most) await this.#bound();
    } catch {
      // As above.
    }
  }

  async #read(key: string): Promise<Uint8Array | undefined> {
    const file = join(this.folder, key);
    const own = unsealed(await readFile(file).catch(() => new Uint8Array()));
    if (own) {
      const now = new Date();
      await utimes(file, now, now).catch(() => undefined);
      return unpack(own);
    }
    const other = await this.#behind?.get(key);
    const entry = other && unsealed(other);
    if (!other || !entry) return undefined;
    await this.#lay(key, other);
    return unpack(entry);
  }

  /** Counts what lies there, and deletes the least recently used when it is too much. */
  async #bound(): Promise<void> {
    this.#uncounted = COUNTED;
    const entries = [];
    for (const name of await readdir(this.folder)) {
      const file = join(this.folder, name);
      const facts = await stat(file).catch(() => undefined);
      if (!facts?.isFile()) continue;
      if (ENTRY.test(name)) entries.push({ file, size: facts.size, used: facts.mtimeMs });
      else if (name.endsWith(".part") && Date.now() - facts.mtimeMs > STALE) await rm(file, { force: true });
    }
    this.#size = entries.reduce((sum, { size }) => sum + size, 0);
    if (this.#size <= this.#most) return;
    for (const { file, size } of entries.sort((a, b) => a.used - b.used)) {
      if (this.#size <= KEPT * this.#most) break;
      await rm(file, { force: true });
      this.#size -= size;
    }
  }
}
