import { error, sayer, type Words } from "@kitforme/kit/findings";
import type { Bounds } from "@kitforme/threads";

/** What can go wrong with a file before anything is known of what is in it. */
interface OutsideFacts {
  /** It took more than a process may have. */
  "file-too-heavy": { readonly what: string; readonly why: "time" | "memory" | "killed"; readonly bounds: Bounds };
  /** The library that reads it failed. */
  "file-breaks-reader": { readonly what: string; readonly how: string };
  /** No plain file, or one too large to be read. */
  "file-unfit": { readonly path: string; readonly why: string };
}

const WORDS: Words<OutsideFacts> = {
  "file-too-heavy": ({ what, why, bounds }) =>
    error(
      why === "time"
        ? `${what} took more than ${bounds.seconds} s of processor time and was stopped`
        : why === "memory"
          ? `${what} took more than ${bounds.memory} MiB of memory and was stopped`
          : `${what} was stopped by the system, most likely because memory ran out`,
      "Simplify it: fewer shapes and filters, text as outlines, pictures at 300 ppi; or export it flattened",
    ),
  "file-breaks-reader": ({ what, how }) =>
    error(
      `${what} failed: ${how}`,
      "Export the file again, by another program if you can; if it is sound, report it to us with the file",
    ),
  "file-unfit": ({ path, why }) =>
    error(`The file "${path}" is not read: it is ${why}`, "Put a plain file in its place"),
};

/** A finding about a file that could not be opened. */
export const sayOutside = sayer(WORDS);
