/** The world of a run: where kits come from and where files go. Everything else a run does is a function of its input. */

/** Kits by folder. Paths are `folder/name`, forward slashes; `kit` has refused every name that could leave the folder. */
export interface KitStore {
  /** Folder names that hold a `kit.json`, sorted. */
  folders(): Promise<readonly string[]>;
  /** Bytes of a file; undefined when there is none. Rejects with `Unfit` for what is there and is not read. */
  read(folder: string, path: string): Promise<Uint8Array | undefined>;
}

/** A text file of the input; `file` is how findings name it. */
export interface Named {
  readonly file: string;
  readonly text: string;
  /** Files beside an order or a shop: bytes of a path in its folder or below; undefined where there is none. Never asked to leave it.
   * Rejects with `Unfit` for what is there and is not read. */
  readonly read?: (path: string) => Promise<Uint8Array | undefined>;
}

/**
 * A thing in the folder of a kit or an order that is not read: a pipe would never end, a file of gigabytes would take the memory.
 *
 * @example
 * throw new Unfit("a named pipe"); // from a store's `read`: the file is there, and is not read
 */
export class Unfit extends Error {
  /** What it is, as the end of a sentence. */
  readonly why: string;
  constructor(why: string) {
    super(`a file is ${why}`);
    this.why = why;
  }
}

/** Where a job's files go. `put` must leave either the whole file or none under its name. */
export interface Destination {
  /** Called as soon as the job's name is known, long before `open`: a place that may not be used says so by throwing. */
  ready?(): Promise<void>;
  /** Called once before the first file: whatever an earlier, unfinished or other job left must not look finished any more. */
  open(): Promise<void>;
  put(name: string, bytes: Uint8Array): Promise<void>;
  /** A file that comes piece by piece and is too large for memory. Left out: such a file is put as a whole. */
  begin?(name: string): Promise<GrowingFile>;
  /** Writes the manifest, last; files of an earlier job that this one did not write are gone after it. */
  finish(name: string, bytes: Uint8Array): Promise<void>;
}

/** A file that is not under its name yet. A method that failed may be called again with the same, and goes on. */
export interface GrowingFile {
  append(bytes: Uint8Array): Promise<void>;
  /** What was appended. */
  read(at: number, length: number): Promise<Uint8Array>;
  /** It is whole: it appears under its name. */
  keep(): Promise<void>;
  /** It never was. */
  drop(): Promise<void>;
}

/** How far a run is. `of` is 0 when unknown. */
export interface Progress {
  readonly phase: "read" | "prepare" | "gang" | "write";
  readonly done: number;
  readonly of: number;
  readonly what: string;
}
