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
  nest: ["@kitforme/geometry"],
  layout: ["@kitforme/geometry", "@kitforme/threads", "@kitforme/nest"],
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
    "prom-client",
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

/**
 * What stays for as long as its process or thread, each with the reason. Everything else that is kept from one call to the next is an
 * object which whoever needs it makes and passes in.
 */
const STAYS: Readonly<Record<string, string>> = {
  "packages/bleed/src/engine.ts": "the loaded engine and its memory: code, no answers",
  "packages/prepress/src/colour/engine.ts": "the loaded LittleCMS, with a bounded number of transforms",
  "packages/prepress/src/artwork/second-renderer.ts": "the loaded resvg, loaded anew when it has trapped",
  "packages/prepress/src/artwork/pdf/pdfium.ts": "the loaded PDFium, loaded anew when it has trapped",
  "packages/run/src/hash-program.ts": "a hash of our own code",
  "packages/run/src/versions.ts": "versions of ourselves and of the engines",
  // Entries: a thread or a process is a program of its own, and what it keeps ends with it.
  "packages/files/src/proof/thread.ts": "the entry of a thread",
  "packages/queue/src/jobs/thread.ts": "the entry of a thread",
  "packages/run/src/outside/opener.ts": "the entry of a process",
};

/**
 * Values that are never changed: what was once worked out of one of them, or is to be known of it, may lie in a WeakMap under it and
 * goes with it. Whoever adds one here says that the same key always has the same answer.
 */
const VALUES = [
  "Element",
  "InkMap",
  'Outline<"drawing">',
  'Piece["parts"]',
  'Placed["prepared"]["reach"]',
  "readonly Way[]",
  "SetText",
  "SheetInk",
  "Typeface",
  "Uint8Array",
  "readonly Layer[]",
  "readonly Outline<Space>[]",
];

/** What a module keeps between calls, by its outermost lines: variables, collections that start empty or are changed, notes on what is no value. */
const keptIn = (file: string, text: string): string[] => {
  const kept = [...text.matchAll(/^(?:export )?let (\w+)/gm)].map(([, name]) => `${file}: let ${name}`);
  // What is empty for good is called so.
  for (const [, name, made, key] of text.matchAll(
    /^(?:export )?const (\w+)(?:: [^=\n]+)? = (?:(new (?:Map|Set)(?:<.+>)?\(\)|\[\]|\{\});?$|new Weak(?:Map|Set)<((?:[^,<>]|<[^<>]*>)+))/gm,
  ))
    if (made !== undefined ? name !== "NONE" : !VALUES.includes((key ?? "").replaceAll("'", '"')))
      kept.push(`${file}: ${name}${made === undefined ? ` of ${key}` : ""}`);
  for (const [, name] of text.matchAll(/^(?:export )?const (\w+)(?:: [^=\n]+)? = (?:new (?:Map|Set)\b|[[{])/gm))
    if (
      new RegExp(
        `\\b${name}(?:\\.(?:set|add|delete|clear|push|splice|sort|reverse)\\(|\\.\\w+(?:\\.\\w+)? ?(?:=[^=>]|\\+=|\\+\\+)|\\[[^\\]\\n]+\\] ?(?:=[^=>]|\\+=|\\+\\+))`,
      ).test(text)
    )
      kept.push(`${file}: ${name} is changed`);
  return kept;
};

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

  it("keeps in its modules nothing that has a lifetime, a size or a world", () => {
    expect(
      files.filter((file) => !(file in STAYS)).flatMap((file) => keptIn(file, readFileSync(file, "utf8"))),
    ).toEqual([]);
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

it("sees what a module keeps", () => {
  const text = [
    "let made = 0;",
    "const cache = new Map<string, number>();",
    "export const known: Set<string> = new Set();",
    "const list: string[] = [];",
    "const defined = new WeakMap<Redis, Set<string>>();",
    "const counts = {\n  hits: 0,\n};\nexport const count = () => {\n  counts.hits++;\n};",
    'const SEEN = new Set(["one"]);\nconst see = (what: string) => SEEN.add(what);',
    "const values = [1, 2];\nvalues[0] = 3;",
    // These are none.
    'const KINDS = new Set(["one", "two"]);',
    "const outlines = new WeakMap<Typeface, Map<number, GlyphOutline>>();",
    "const NONE: ReadonlySet<string> = new Set();",
    "const inside = () => {\n  const all = new Map<string, number>();\n  return all;\n};",
  ];
  expect(text.flatMap((one, i) => keptIn(String(i), one))).toEqual([
    "0: let made",
    "1: cache",
    "2: known",
    "3: list",
    "4: defined of Redis",
    "5: counts is changed",
    "6: SEEN is changed",
    "7: values is changed",
  ]);
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
