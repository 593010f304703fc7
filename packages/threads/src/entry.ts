/** How a thread or process is started: the file, its arguments, and the flags of Node. */
export interface Entry {
  readonly file: URL;
  readonly argv: readonly string[];
  readonly execArgv: readonly string[];
}

/**
 * The entry of a thread or process whose module is at an address: a built one is its own, a source runs by way of a door that
 * takes TypeScript.
 *
 * The flags of whoever calls are not passed on (unless `startThread` is asked to): with `--input-type` among them no file can be an entry.
 */
export const entryAt = (module: URL): Entry =>
  module.pathname.endsWith(".ts")
    ? {
        file: new URL("./source-door.mjs", import.meta.url),
        argv: [module.href],
        execArgv: ["--conditions=@kitforme/source"],
      }
    : { file: module, argv: [], execArgv: [] };

/**
 * The entry of a thread or process that lies beside the caller: `entryOf(import.meta.url, "./worker")` is `worker.js` when
 * the caller was built, and `worker.ts` when the sources run as they are. See `entryAt`.
 */
export const entryOf = (caller: string, name: string): Entry =>
  entryAt(new URL(`${name}${caller.endsWith(".ts") ? ".ts" : ".js"}`, caller));
