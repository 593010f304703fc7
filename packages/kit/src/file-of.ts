import { badPath } from "./guard.ts";
import type { Ledger } from "./ledger.ts";

/** Gives the bytes of a file of the kit, or undefined when there is none. Never asked for a path outside the kit. */
export type ReadFile = (path: string) => Promise<Uint8Array | undefined>;

/** A file of the kit, asked for only when its path is good. Told, when it is not or when there is none. */
export const fileOf = async (
  path: string,
  field: string,
  read: ReadFile,
  report: Ledger,
  missing: () => void = () => report.say("file-missing", { field, path }, { field, file: path }),
): Promise<Uint8Array | undefined> => {
  const why = badPath(path);
  if (why) {
    report.say("path-outside-kit", { field, path, why }, { field });
    return undefined;
  }
  const bytes = await read(path);
  if (!bytes) missing();
  return bytes;
};
