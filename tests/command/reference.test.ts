// Docstrings, the API reference made from them, and the types of the front door. Needs the build, as all tests of this folder.
import { existsSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { API } from "typescript/unstable/sync";
import { describe, expect, it } from "vitest";
import { apiReference, fileOf } from "../reference/api-reference.ts";
import { doorsOf, type Exported, exportedOf, HOUSE, ROOMS } from "../support/exported.ts";

const all = exportedOf(ROOMS);
const door = all.get("run") as readonly Exported[];

/** Errors of a program that lies nowhere on the disk, compiled strictly against the build. */
const errorsOf = (text: string): string[] => {
  const folder = join(HOUSE, "tests/nowhere");
  const virtual: Record<string, string> = {
    [join(folder, "program.ts")]: text,
    [join(folder, "tsconfig.json")]: JSON.stringify({
      extends: "../tsconfig.json",
      compilerOptions: { customConditions: [] },
      include: [],
      files: ["program.ts"],
      references: [],
    }),
  };
  const api = new API({
    cwd: HOUSE,
    fs: { readFile: (file) => virtual[file], fileExists: (file) => (file in virtual ? true : undefined) },
  });
  try {
    const config = join(folder, "tsconfig.json");
    const project = api.updateSnapshot({ openProjects: [config] }).getProject(config);
    if (!project) throw new Error("the program has no project");
    const { program } = project;
    return [
      ...program.getConfigFileParsingDiagnostics(),
      ...program.getSyntacticDiagnostics(join(folder, "program.ts")),
      ...program.getSemanticDiagnostics(join(folder, "program.ts")),
    ].map((d) => `${text.slice(0, d.pos).split("\n").length}: ${d.text}`);
  } finally {
    api.close();
  }
};

it("every exported name of every package has a docstring", () => {
  const bare = [...all].flatMap(([door, names]) => names.filter((n) => n.doc === "").map((n) => `${door}: ${n.name}`));
  console.log(
    `${[...all.values()].flat().length} exported names at ${all.size} doors of ${ROOMS.length} packages, ${bare.length} without a docstring`,
  );
  expect(all.size).toBeGreaterThan(ROOMS.length);
  expect(bare).toEqual([]);
});

it("every door beside a package's main one is named in its README, and its names in API.md", () => {
  const beside = ROOMS.flatMap((room) => doorsOf(room).map(([door]) => [room, door] as const)).filter(
    ([room, door]) => room !== door,
  );
  expect(beside.length).toBeGreaterThan(5);
  const unnamed = beside.filter(
    ([room, door]) => !readFileSync(join(HOUSE, "packages", room, "README.md"), "utf8").includes(`@kitforme/${door}\``),
  );
  expect(unnamed).toEqual([]);
});

it.each(ROOMS)("API.md of %s is what its docstrings say (else: npm run docs)", (room) => {
  const text = existsSync(fileOf(room)) ? readFileSync(fileOf(room), "utf8") : "";
  expect(text).toBe(apiReference(room, all));
});

it("all packages have one version, at the head of both change logs", () => {
  const versionOf = (folder: string): unknown =>
    (JSON.parse(readFileSync(join(HOUSE, folder, "package.json"), "utf8")) as { version: unknown }).version;
  const version = versionOf("worker");
  expect(ROOMS.map((room) => [room, versionOf(join("packages", room))])).toEqual(ROOMS.map((room) => [room, version]));
  for (const folder of ["packages/run", "worker"])
    expect(/^## (\S+?),? /m.exec(readFileSync(join(HOUSE, folder, "CHANGELOG.md"), "utf8"))?.[1]).toBe(version);
});

describe("the front door", () => {
  const callable = door.filter((e) => e.kind === "function" || e.kind === "class");
  const examplesOf = (e: Exported): string[] => e.tags.filter((t) => t.name === "example").map((t) => t.text ?? "");

  it("has an example at every function", () => {
    expect(callable.length).toBeGreaterThan(20);
    expect(callable.filter((e) => examplesOf(e).length === 0).map((e) => e.name)).toEqual([]);
  });

  it("has examples that compile", () => {
    const names = door.map((e) => (e.kind === "type" ? `type ${e.name}` : e.name)).join(", ");
    const bodies = callable.flatMap(examplesOf).map((text) => `{\n  ${text}\n}`);
    const program = (body: string) => `
import { readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { ${names} } from "@kitforme/run";
declare const shop: Named, order: Named;
${body}
export {};`;
    // Each in a function of its own, which may throw at its end.
    const whole = bodies.map((body, i) => `export const example${i} = async (): Promise<void> => ${body};`).join("\n");
    expect(errorsOf(program(whole))).toEqual([]);
    expect(errorsOf(program("run(1);")).length).toBeGreaterThan(0);
  });

  it("has the types that programs are written against", () => {
    expect(errorsOf(readFileSync(join(HOUSE, "tests/reference/front-door.ts"), "utf8"))).toEqual([]);
  });
});

it("the client's types are those of what the server answers", () => {
  const program = (more: string) => `
import type * as client from "@kitforme/client";
import type * as queue from "@kitforme/queue";
export const status = (s: queue.OrderStatus): client.OrderStatus => s;
export const change = (c: queue.Change): client.Change => c;
export const submitted = (s: Pick<queue.Submitted, "orders" | "findings">): client.Submitted => s;
export const state = (s: client.State): queue.State => s;${more}`;
  expect(errorsOf(program(""))).toEqual([]);
  expect(errorsOf(program('export const s: client.State = "lost";')).length).toBe(1);
});
