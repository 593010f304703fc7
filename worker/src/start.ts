import { EXIT } from "./exit.ts";
import { outletOf } from "./outlet.ts";

/** Commands that run until a signal tells them to end, and heed it themselves. */
const HEEDFUL = ["work", "serve", "watch"];
/** Words that are answered before a signal could come. */
const ANSWERED = ["--version", "--help", "-h", "help"];

/** The command `kitforme` as a process of its own: signals, faults that nobody caught, readers that go away. The exit code. */
export const start = async (words: readonly string[]): Promise<number> => {
  const outlet = outletOf(words);
  process.once("uncaughtException", (error) => {
    void import("./ending.ts").then(({ endingBy }) => {
      const ending = endingBy(error);
      outlet.end(ending);
      process.exit(ending.exit);
    });
  });
  // Who reads our lines may have read enough ("| head"): that is no failure.
  for (const stream of [process.stdout, process.stderr])
    stream.once("error", (error: NodeJS.ErrnoException) => {
      if (error.code !== "EPIPE") throw error;
      process.exit(EXIT.done);
    });
  if ([...HEEDFUL, ...ANSWERED].includes(words[0] ?? "--help")) return (await import("./cli.ts")).main(words);
  return (await import("./watched.ts")).watched(words, outlet);
};
