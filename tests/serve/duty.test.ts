// What is for the people on duty, read as the tools read it: the compose file as YAML, the units of systemd line by line.
import { spawnSync } from "node:child_process";
import { existsSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { parse } from "yaml";
import { has, inFolder } from "../support/oracle.ts";

const house = join(import.meta.dirname, "../..");
const read = (path: string): string => readFileSync(join(house, path), "utf8");
/** Every variable that the command reads. */
const KNOWN = new Set(
  [
    ...read("worker/src/cli.ts").matchAll(/\.env\("(\w+)"\)/g),
    ...read("worker/src/options.ts").matchAll(/\.env\("(\w+)"\)/g),
  ].map((m) => m[1]),
);

interface Service {
  readonly command?: readonly string[];
  readonly environment?: Readonly<Record<string, string>>;
  readonly extends?: { readonly service: string };
  readonly ports?: readonly string[];
}

describe("docker-compose.yml", () => {
  const { services } = parse(read("docker-compose.yml")) as { services: Readonly<Record<string, Service>> };

  it("has a queue, workers and the server, told only what the command knows", () => {
    expect(Object.keys(services)).toEqual(["redis", "worker", "serve"]);
    expect(services["serve"]).toMatchObject({ command: ["serve"], extends: { service: "worker" } });
    const told = ["worker", "serve"].flatMap((name) => Object.keys(services[name]?.environment ?? {}));
    expect(told.length).toBeGreaterThan(6);
    expect(told.filter((name) => !KNOWN.has(name))).toEqual([]);
  });

  it("opens Redis and the server to this machine only: TLS is for the proxy in front", () => {
    const ports = Object.values(services).flatMap((service) => service.ports ?? []);
    expect(ports.length).toBe(2);
    expect(ports.filter((port) => !port.startsWith("127.0.0.1:"))).toEqual([]);
  });
});

describe.each(["work", "serve"])("kitforme-%s.service", (command) => {
  const lines = read(`worker/duty/kitforme-${command}.service`).split("\n");

  it("runs a command that there is, and gives it time to stop", () => {
    expect(lines).toContain(`ExecStart=/usr/bin/env kitforme ${command} --json`);
    expect(existsSync(join(house, "worker/src/commands", `${command}.ts`))).toBe(true);
    expect(Number(lines.find((l) => l.startsWith("TimeoutStopSec="))?.split("=")[1])).toBeGreaterThan(25);
    expect(lines.filter((l) => !/^(#.*|\[\w+\]|\w+=.+|)$/.test(l))).toEqual([]);
    const named = lines.flatMap((l) => [...l.matchAll(/KITFORME_\w+|REDIS_URL/g)].map((m) => m[0]));
    expect(named.filter((name) => !KNOWN.has(name))).toEqual([]);
  });

  it.runIf(has("systemd-analyze"))("is a unit that systemd reads without a word (systemd-analyze verify)", () => {
    const said = (text: string): string =>
      inFolder((at) => {
        writeFileSync(at(`kitforme-${command}.service`), text);
        const { stdout, stderr } = spawnSync("systemd-analyze", ["verify", at(`kitforme-${command}.service`)], {
          encoding: "utf8",
        });
        return stdout + stderr;
      });
    expect(said(lines.join("\n"))).toBe("");
    expect(said(lines.join("\n").replace("Restart=", "Restarts="))).toContain("Restarts");
  });
});
