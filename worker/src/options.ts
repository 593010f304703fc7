// Options that several commands have.
import { isIP } from "node:net";
import { InvalidArgumentError, Option } from "commander";
import { DEFAULT_PREFIX, DEFAULT_URL, faultOfUrl } from "./queue-options.ts";

export const whole =
  (least: number, most?: number) =>
  (text: string): number => {
    const value = Number(text);
    if (text.trim() === "" || !Number.isSafeInteger(value) || value < least || value > (most ?? value))
      throw new InvalidArgumentError(
        `A whole number from ${least}${most === undefined ? "" : ` to ${most}`} is wanted.`,
      );
    return value;
  };

/** The path of a file or folder. An empty one would be the folder one stands in, which nobody means. */
export const path = (flags: string, description: string): Option =>
  new Option(flags, description).argParser((text: string) => {
    if (text.trim() === "") throw new InvalidArgumentError("A path is wanted, and this one is empty.");
    return text;
  });

/** A path without which the command cannot work; help says so. */
export const needed = (flags: string, description: string): Option =>
  path(flags, `${description} (required)`).makeOptionMandatory();

export const effort = (): Option =>
  new Option(
    "--effort <effort>",
    "how long the layout is searched; counted in iterations, so the result is the same everywhere",
  )
    .choices(["quick", "normal", "best"])
    .default("normal");

export const threads = (): Option =>
  new Option("--threads <n>", "threads for the layout; the result does not depend on it").argParser(whole(1));

/** Where prepared pieces are kept. `when` goes before it: what else has to be asked for. */
export const cache = (when = ""): Option =>
  path(
    "--cache <folder>",
    `${when}where prepared pieces are kept: one that comes again is not prepared again; a worker's cache will do`,
  ).env("KITFORME_CACHE");

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
  new Option("--prefix <name>", "keys in Redis start with this")
    .env("KITFORME_PREFIX")
    .argParser((name: string) => {
      // A colon parts BullMQ's names, braces would send keys to other servers of a cluster.
      if (!/^[\w.-]{1,100}$/.test(name))
        throw new InvalidArgumentError("Letters, digits, full stops, hyphens and underscores are wanted, at most 100.");
      return name;
    })
    .default(DEFAULT_PREFIX);

export interface Address {
  readonly host: string;
  readonly port: number;
}

/** PORT or HOST:PORT, as a word; without a host only this machine is listened to. Throws what commander says to people. */
export const address = (text: string): Address => {
  const [, host = "127.0.0.1", port] = /^(?:(.+):)?(\d+)$/.exec(text) ?? [];
  if (port === undefined || Number(port) > 65_535)
    throw new InvalidArgumentError("It is to read PORT or HOST:PORT, the port at most 65535.");
  return { host: host.replace(/^\[|\]$/g, ""), port: Number(port) };
};

/** An address of a store's, by http or https. */
export const webAddress = (text: string): string => {
  if (!URL.canParse(text) || !/^https?:$/.test(new URL(text).protocol))
    throw new InvalidArgumentError("It is to read https://HOST/PATH.");
  return text;
};

/** Several values in one variable or option, with commas; `each` judges one. */
export const several =
  (each: (text: string) => string) =>
  (text: string): string[] =>
    text
      .split(",")
      .filter((one) => one.trim() !== "")
      .map((one) => each(one.trim()));

/** An origin as browsers say it: no path, no stop at its end. */
export const origin = (text: string): string => {
  if (!URL.canParse(text) || new URL(text).origin !== text)
    throw new InvalidArgumentError("An origin reads https://HOST, without a path.");
  return text;
};

/** An address of a proxy, alone or as ADDRESS/BITS. */
export const proxyAddress = (text: string): string => {
  const [ip = "", bits] = text.split("/");
  const most = isIP(ip) === 4 ? 32 : 128;
  if (isIP(ip) === 0 || (bits !== undefined && !(/^\d{1,3}$/.test(bits) && Number(bits) <= most)))
    throw new InvalidArgumentError("It is to read ADDRESS or ADDRESS/BITS: 10.0.0.1 or 10.0.0.0/8.");
  return text;
};
