import { readFileSync } from "node:fs";

// One up from src and from dist alike.
const { version } = JSON.parse(readFileSync(new URL("../package.json", import.meta.url), "utf8")) as {
  version: string;
};

let known: Readonly<Record<string, string>> | undefined;

/**
 * What makes the bytes: ours and the engines'. Part of the job's name, so another version is another job. The engines of
 * pictures are loaded to say theirs.
 *
 * @example
 * const { kitforme } = await versions(); // "0.1.0"
 */
export const versions = async (): Promise<Readonly<Record<string, string>>> => {
  if (!known) {
    const { engines } = await import("@kitforme/prepress/engines");
    known = { kitforme: version, ...engines() };
  }
  return known;
};
