// Options that several commands have.
import { InvalidArgumentError, Option } from "commander";
import { DEFAULT_PREFIX, DEFAULT_URL, faultOfUrl } from "./queue-options.ts";

export const whole =
  (least: number) =>
  (text: string): number => {
    const value = Number(text);
    if (text.trim() === "" || !Number.isInteger(value) || value < least)
      throw new InvalidArgumentError(`A whole number from ${least} is wanted.`);
    return value;
  };

/** The path of a file or folder. An empty one would be the folder one stands in, which nobody means. */
export const path = (flags: string, description: string): Option =>
  new Option(flags, description).argParser((text: string) => {
    if (text.trim() === "") throw new InvalidArgumentError("A path is wanted, and this one is empty.");
    return text;
  });

export const needed = (flags: string, description: string): Option => path(flags, description).makeOptionMandatory();

export const effort = (): Option =>
  new Option(
    "--effort <effort>",
    "how long the layout is searched; counted in iterations, so the result is the same everywhere",
  )
    .choices(["quick", "normal", "best"])
    .default("normal");

export const threads = (): Option =>
  new Option("--threads <n>", "threads for the layout; the result does not depend on it").argParser(whole(1));

export const json = (): Option =>
  new Option("--json", "machine-readable lines on standard output; words go to standard error");

export const redis = (): Option =>
  new Option("--redis <url>", "the queue's Redis: redis://HOST:PORT, or rediss:// for TLS, with :PASSWORD@ before HOST")
    .env("REDIS_URL")
    .argParser((url: string) => {
      const fault = faultOfUrl(url);
      if (fault !== undefined) throw new InvalidArgumentError(fault);
      return url;
    })
    .default(DEFAULT_URL);

export const prefix = (): Option =>
  new Option("--prefix <name>", "keys in Redis start with this").env("KITFORME_PREFIX").default(DEFAULT_PREFIX);
