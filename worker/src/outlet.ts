import type { Ending } from "./ending.ts";

/** Where a command's words go: machine-readable lines on standard output with `--json`, people's words otherwise. */
export interface Outlet {
  readonly json: boolean;
  /** Standard error is a terminal that can show a bar. */
  readonly terminal: boolean;
  /** Words along the way, on standard error. */
  say(words: string): void;
  /** The result in words: standard output, or standard error when standard output is for machines. */
  tell(words: string): void;
  /** One machine-readable line; nothing without `--json`. */
  event(event: string, data: object): void;
  /** The last line and the last words of a command, said once. */
  end(ending: Ending): void;
}

/** By the words of the command line: with `--json` before any `--`. */
export const outletOf = (words: readonly string[]): Outlet => {
  const options = words.includes("--") ? words.slice(0, words.indexOf("--")) : words;
  return outlet(options.includes("--json"));
};

const outlet = (json: boolean): Outlet => ({
  json,
  terminal: process.stderr.isTTY === true && process.env["TERM"] !== "dumb",
  say: (words) => void process.stderr.write(`${words}\n`),
  tell: (words) => void (json ? process.stderr : process.stdout).write(`${words}\n`),
  event(event, data) {
    if (json) process.stdout.write(`${JSON.stringify({ event, ...data })}\n`);
  },
  end({ how, exit, reason, spoken, trace }) {
    if (json)
      process.stdout.write(`${JSON.stringify({ event: "end", end: how, exit, ...(reason ? { reason } : {}) })}\n`);
    if (reason !== undefined && !spoken) process.stderr.write(`${reason}\n`);
    if (trace === undefined) return;
    if (process.env["KITFORME_TRACE"]) process.stderr.write(`${trace}\n`);
    else process.stderr.write("(KITFORME_TRACE=1 prints where; please report it)\n");
  },
});
