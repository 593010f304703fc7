// The fences of the house: who may import whom. `tsc -b` does not guard them, this test does.
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";

/** Left may import right, and nothing else. Every third-party package has one owner, named twice only by intent. */
const MAY_IMPORT: Record<string, readonly string[]> = {
  geometry: ["clipper-lib"],
  // Threads and bounded processes, one helper for all rooms that start any.
  threads: [],
  kit: ["@kitforme/geometry", "zod", "saxes", "css-tree", "css-select", "domhandler", "@bramus/specificity", "svgpath"],
  // Pixels and contours only: no PDF, no text, no picture files.
  bleed: ["@kitforme/geometry"],
  prepress: [
    "@kitforme/geometry",
    "@kitforme/bleed",
    "@kitforme/kit",
    "sharp",
    "@resvg/resvg-wasm",
    "harfbuzzjs",
    "bidi-js",
    "wawoff2",
    // Second owner of bwip-js: prepress sets the codes of copies, sheet the code of a sheet.
    "bwip-js",
    "@hyzyla/pdfium",
    "lcms-wasm",
    // Second owner of pdf-lib: prepress opens PDF artwork, files writes sheets.
    "pdf-lib",
  ],
  nest: ["@kitforme/geometry", "@kitforme/threads"],
  layout: ["@kitforme/geometry", "@kitforme/nest"],
  sheet: ["@kitforme/geometry", "@kitforme/kit", "@kitforme/prepress", "@kitforme/layout", "bwip-js"],
  files: [
    "@kitforme/geometry",
    "@kitforme/threads",
    "@kitforme/kit",
    "@kitforme/prepress",
    "@kitforme/sheet",
    "pdf-lib",
    // Second owner of saxes: the XMP of a finished print PDF is read back.
    "saxes",
  ],
  papers: ["@kitforme/geometry", "@kitforme/kit", "@kitforme/prepress", "@kitforme/sheet", "@kitforme/files"],
  run: [
    // The record of a job's input is a zip file.
    "fflate",
    "@kitforme/papers",
    "@kitforme/geometry",
    "@kitforme/threads",
    "@kitforme/kit",
    "@kitforme/prepress",
    "@kitforme/layout",
    "@kitforme/sheet",
    "@kitforme/files",
  ],
  // Signs requests to stores of objects; a peer that need not be there.
  queue: ["@kitforme/run", "@kitforme/kit", "@kitforme/threads", "bullmq", "ioredis", "prom-client", "aws4fetch"],
  // Second owner of bullmq: the queue makes gangs by it, serve sends webhooks.
  serve: [
    "@kitforme/run",
    "@kitforme/kit",
    "@kitforme/queue",
    "fastify",
    "@fastify/rate-limit",
    "@fastify/send",
    "bullmq",
  ],
  // For stores: nothing but what Node has.
  client: [],
  // The queue is a peer that need not be there: the command reaches for it only when it is asked to.
  worker: [
    "@kitforme/run",
    "@kitforme/kit",
    "@kitforme/threads",
    "@kitforme/queue",
    "@kitforme/serve",
    "commander",
    "pino",
    "cli-progress",
  ],
};

/** Rooms that never touch disk, network, clock or unseeded randomness: the world comes in through `World`, at `run`. */
const NO_WORLD = ["geometry", "bleed", "kit", "nest", "layout", "sheet", "papers"];

const sources = (folder: string): string[] =>
  readdirSync(folder, { withFileTypes: true }).flatMap((e) =>
    e.isDirectory() ? sources(join(folder, e.name)) : /\.[cm]?ts$/.test(e.name) ? [join(folder, e.name)] : [],
  );

const folderOf = (room: string): string => (room === "worker" ? "worker/src" : `packages/${room}/src`);
const importsOf = (text: string): string[] =>
  [
    ...text.matchAll(
      /(?:^|[\s;])(?:import|export)\s[^'"`;]*?from\s*["']([^"']+)["']|import\(\s*["']([^"']+)["']\s*\)|^import\s+["']([^"']+)["']/gm,
    ),
  ].map((m) => (m[1] ?? m[2] ?? m[3]) as string);
const packageOf = (specifier: string): string =>
  specifier.startsWith("@") ? specifier.split("/").slice(0, 2).join("/") : (specifier.split("/")[0] as string);

describe.each(Object.keys(MAY_IMPORT))("%s", (room) => {
  const files = sources(folderOf(room));

  it("has sources", () => {
    expect(files.length).toBeGreaterThan(0);
  });

  it("imports only what the map allows", () => {
    const strangers = files.flatMap((file) =>
      importsOf(readFileSync(file, "utf8"))
        .filter((s) => !s.startsWith(".") && !s.startsWith("node:"))
        .filter((s) => !MAY_IMPORT[room]?.includes(packageOf(s)))
        .map((s) => `${file} imports ${s}: ${room} may import only ${MAY_IMPORT[room]?.join(", ")}`),
    );
    expect(strangers).toEqual([]);
  });

  it("declares what it imports", () => {
    const manifest = JSON.parse(readFileSync(join(folderOf(room), "..", "package.json"), "utf8")) as {
      dependencies?: Record<string, string>;
      peerDependencies?: Record<string, string>;
    };
    const used = new Set(
      files
        .flatMap((f) => importsOf(readFileSync(f, "utf8")))
        .filter((s) => !s.startsWith(".") && !s.startsWith("node:"))
        .map(packageOf),
    );
    expect([...used].filter((p) => !(p in { ...manifest.dependencies, ...manifest.peerDependencies }))).toEqual([]);
  });

  it("has no import cycle between its files", () => {
    const edges = new Map(
      files.map((f) => [
        f,
        importsOf(readFileSync(f, "utf8"))
          .filter((s) => s.startsWith("."))
          .map((s) => join(f, "..", s)),
      ]),
    );
    const done = new Set<string>();
    const walk = (file: string, path: string[]): string[] | undefined => {
      if (path.includes(file)) return [...path.slice(path.indexOf(file)), file];
      if (done.has(file)) return undefined;
      for (const next of edges.get(file) ?? []) {
        const cycle = walk(next, [...path, file]);
        if (cycle) return cycle;
      }
      done.add(file);
      return undefined;
    };
    expect(files.map((f) => walk(f, [])).find(Boolean)).toBeUndefined();
  });

  // A cache is its caller's, who knows when it has done its duty; what is remembered of an object (WeakMap) goes with it.
  if (NO_WORLD.includes(room))
    it("keeps nothing from one call to the next, but for a loaded engine", () => {
      const kept = /^(?:export )?(?:let\s|const [a-z]\w*(?:: [^=\n]+)? = new (?:Map|Set)\b)/m;
      const found = files.filter((file) => kept.test(readFileSync(file, "utf8")));
      expect(found).toEqual(room === "bleed" ? ["packages/bleed/src/engine.ts"] : []);
    });

  if (NO_WORLD.includes(room))
    it("touches neither disk, network, clock nor chance", () => {
      const touched = files.flatMap((file) => {
        const text = readFileSync(file, "utf8");
        const worldly = importsOf(text).filter((s) => /^node:(fs|net|http|https|child_process|os)/.test(s));
        if (/\bMath\.random\b|\bDate\.now\b|\bnew Date\(\)|\bperformance\.now\b/.test(text))
          worldly.push("clock or chance");
        return worldly.map((w) => `${file}: ${w}`);
      });
      expect(touched).toEqual([]);
    });
});

it("is of files that are read at a sitting: each room's count and median length", () => {
  const lengths = (room: string): number[] =>
    sources(folderOf(room))
      .map((file) => readFileSync(file, "utf8").trimEnd().split("\n").length)
      .sort((a, b) => a - b);
  const table = Object.keys(MAY_IMPORT).map((room) => {
    const all = lengths(room);
    return { room, files: all.length, median: all[all.length >> 1] ?? 0, longest: all.at(-1) ?? 0 };
  });
  console.log(
    table
      .map((r) => `${r.room.padEnd(9)} ${String(r.files).padStart(3)} files, median ${r.median}, longest ${r.longest}`)
      .join("\n"),
  );
  // The aim is 120 lines; a longer file says in its first line why it is one.
  expect(table.filter((r) => r.median > 120)).toEqual([]);
  const long = Object.keys(MAY_IMPORT)
    .flatMap((room) => sources(folderOf(room)))
    .filter((file) => readFileSync(file, "utf8").trimEnd().split("\n").length > 250)
    .filter((file) => !readFileSync(file, "utf8").startsWith("// "));
  expect(long).toEqual([]);
});
