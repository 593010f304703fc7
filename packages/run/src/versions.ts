import { readFileSync } from "node:fs";
import { engines } from "@kitforme/prepress";

// One up from src and from dist alike.
const { version } = JSON.parse(readFileSync(new URL("../package.json", import.meta.url), "utf8")) as {
  version: string;
};

/** What makes the bytes: ours and the engines'. Part of the job's name, so another version is another job. */
export const VERSIONS: Readonly<Record<string, string>> = { kitforme: version, ...engines() };
