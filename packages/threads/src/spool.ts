import { randomUUID } from "node:crypto";
import { closeSync, ftruncateSync, openSync, readSync, rmSync, writeSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

/** Bytes that lie in a spool. */
export interface Ref {
  readonly at: number;
  readonly length: number;
  /** How often the spool had been cut before: a place that is used again is another one. */
  readonly age: number;
}

/** What a full or absent folder of temporary files throws names that folder, and what says where it is. */
const withPlace = <T>(act: () => T): T => {
  try {
    return act();
  } catch (error) {
    throw Object.assign(error as Error, { path: `${tmpdir()}, the folder for temporary files (TMPDIR)` });
  }
};

/** Reads and writes parts of an open file. */
export const writeAt = (file: number, bytes: Uint8Array, at: number): void => {
  withPlace(() => {
    for (let done = 0; done < bytes.length; ) done += writeSync(file, bytes, done, bytes.length - done, at + done);
  });
};
export const readAt = (file: number, { at, length }: Pick<Ref, "at" | "length">): Uint8Array<ArrayBuffer> => {
  const bytes = new Uint8Array(length);
  for (let done = 0; done < length; ) {
    const got = readSync(file, bytes, done, length - done, at + done);
    if (got === 0) throw new Error(`the temporary file ends before ${at + length}`);
    done += got;
  }
  return bytes;
};

/**
 * A temporary file for bytes that are too many for memory, shared with child processes by its descriptor. It has no name in
 * any folder once it is open (where the system allows that: all but Windows), so nothing is left behind by whatever death.
 *
 * Places are given out by this process alone; a child that dies between asking and writing leaves a hole.
 */
export class Spool {
  readonly file: number;
  readonly #path: string;
  #named = false;
  #end = 0;
  #age = 0;

  constructor() {
    this.#path = join(tmpdir(), `kitforme-${randomUUID()}.tmp`);
    this.file = withPlace(() => openSync(this.#path, "wx+", 0o600));
    try {
      rmSync(this.#path);
    } catch {
      this.#named = true;
    }
  }

  /** Bytes held now. */
  get end(): number {
    return this.#end;
  }

  /** A place for so many bytes. */
  reserve(length: number): Ref {
    const at = this.#end;
    this.#end += length;
    return { at, length, age: this.#age };
  }

  put(bytes: Uint8Array): Ref {
    const ref = this.reserve(bytes.length);
    writeAt(this.file, bytes, ref.at);
    return ref;
  }

  get(ref: Ref): Uint8Array<ArrayBuffer> {
    return readAt(this.file, ref);
  }

  /** Forgets all that was put since `end` was this. Nobody may be writing. */
  cut(end: number): void {
    if (end >= this.#end) return;
    this.#end = end;
    this.#age++;
    ftruncateSync(this.file, end);
  }

  close(): void {
    closeSync(this.file);
    if (this.#named) rmSync(this.#path, { force: true });
  }
}
