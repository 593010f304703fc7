/** How a thread or process is started: the file, its arguments, and the flags of Node. */
export interface Entry {
  readonly file: URL;
  readonly argv: readonly string[];
  readonly execArgv: readonly string[];
}

/**
 * The entry of a thread or process that lies beside the caller: `entryOf(import.meta.url, "./worker")` is `worker.js` when
 * the caller was built, and `worker.ts` by way of a door that takes TypeScript when the sources run as they are.
 *
 * The flags of whoever calls are not passed on (unless `startThread` is asked to): with `--input-type` among them no file can be an entry.
 */
export const entryOf = (caller: string, name: string): Entry =>
  caller.endsWith(".ts")
    ? {
        file: new URL("./source-door.mjs", import.meta.url),
        argv: [new URL(`${name}.ts`, caller).href],
        execArgv: ["--conditions=@kitforme/source"],
      }
    : { file: new URL(`${name}.js`, caller), argv: [], execArgv: [] };
