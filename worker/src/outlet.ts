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
}

export const outletOf = (json: boolean): Outlet => ({
  json,
  terminal: process.stderr.isTTY === true,
  say: (words) => void process.stderr.write(`${words}\n`),
  tell: (words) => void (json ? process.stderr : process.stdout).write(`${words}\n`),
  event(event, data) {
    if (json) process.stdout.write(`${JSON.stringify({ event, ...data })}\n`);
  },
});
