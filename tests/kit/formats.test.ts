// The formats: every field described, the reference and the schema files as the forms are, the schemas taken by a strict
// validator and of one mind with the reader.
import { Ajv2020 } from "ajv/dist/2020.js";
import fc from "fast-check";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import {
  badName,
  badPath,
  badTitle,
  FILE_KINDS,
  fieldsOf,
  type Finding,
  formatsReference,
  readKit,
  readOrders,
  readShop,
  schemaOf,
} from "@kitforme/kit";
import { bytes, svgMm } from "../support/kits.ts";

const HERE = join(import.meta.dirname, "../../packages/kit");
const ajv = new Ajv2020({ strict: true, allErrors: true });
const validators = Object.fromEntries(FILE_KINDS.map((file) => [file, ajv.compile(schemaOf(file))]));

describe.each(FILE_KINDS)("%s.json", (file) => {
  it("says what every number that is no count is counted in", () => {
    const said =
      /\[[^\]]+\]|in `currency`|\bshares?\b|of the sheet\.$|Cost of|Least sheets|type sizes|pixels per inch|degrees|percent|a b c d e f/i;
    const fields = fieldsOf(file).filter(({ kind }) => /^number$|^list( of \d|: list of \d)/.test(kind));
    expect(fields.filter(({ description }) => !said.test(description)).map(({ path }) => path)).toEqual([]);
  });

  it("has a description for every field", () => {
    const fields = fieldsOf(file);
    expect(fields.length).toBeGreaterThan(6);
    expect(fields.filter(({ description }) => description.replace(/\[[^\]]*\]$/, "").trim().length < 8)).toEqual([]);
  });
  it("has a schema with an id, in its file as in the form", () => {
    expect(schemaOf(file)).toMatchObject({
      $id: `urn:kitforme:schema:${file}`,
      $schema: "https://json-schema.org/draft/2020-12/schema",
    });
    const kept = readFileSync(join(HERE, "schemas", `${file}.schema.json`), "utf8");
    expect(JSON.parse(kept), "run: npx tsx packages/kit/formats.ts").toEqual(schemaOf(file));
  });
});

it("FORMATS.md is as the forms are", () => {
  expect(
    readFileSync(join(HERE, "FORMATS.md"), "utf8") === formatsReference(),
    "run: npx tsx packages/kit/formats.ts",
  ).toBe(true);
});

const margins = { top: 5, right: 5, bottom: 5, left: 5 };
const GOOD = {
  shop: {
    stocks: { card: { title: "Card", sheet: [320, 450], sheets: [[450, 640]], caliper: 0.3, press: "p", cutter: "c" } },
    presses: { p: { margins, resolution: 300, bleed: 3, colour: "cmyk", register: 0.5 } },
    cutters: {
      c: {
        formats: ["svg"],
        tolerance: 1,
        clearance: 1,
        margins,
        marks: { shape: "disc", size: 5, clear: 2 },
        least: { bridge: 1 },
        tools: { cutting: { pen: 1 } },
      },
    },
    setup: { sheetChange: 1, newLayout: 20 },
    overs: { sheets: 1, share: 0.02 },
  },
  kit: {
    kit: "k",
    title: "Kit",
    fonts: ["f.ttf"],
    pieces: [
      {
        piece: "p",
        drawing: "p.svg",
        perKit: 2,
        stock: "card",
        lines: { cutting: "#cut" },
        artwork: { file: "a.svg", box: [0, 0, 9, 9] },
        size: [100, 60],
        bleed: 3,
        grain: "vertical",
        turns: [0, 90],
        spread: "soft",
        slots: [
          { slot: "s", box: [10, 10, 30, 10], font: "f.ttf", size: 9, align: "left", colour: "#2D5A27", safe: 1 },
        ],
      },
    ],
  },
  order: { order: "A-1", due: "2026-12-04", lines: [{ kit: "k", quantity: 1, texts: [{ s: "words" }] }] },
} as const;

const FORM = new Set(["field-wrong", "name-bad", "title-bad", "path-outside-kit"]);
const svg = bytes(svgMm(100, 60, '<rect id="cut" width="100" height="60"/><rect id="art" width="9" height="9"/>'));
/** What the reader says about a file. */
const read = async (file: keyof typeof GOOD, data: unknown): Promise<Finding[]> => {
  const { findings } =
    file === "shop"
      ? readShop(data)
      : file === "order"
        ? readOrders([{ file: "a.json", text: data }], { kits: [{ kit: "k", pieces: [] }] })
        : await readKit({ folder: "k", text: data, read: () => Promise.resolve(svg) });
  return [...findings];
};
const formFaults = async (file: keyof typeof GOOD, data: unknown): Promise<Finding[]> =>
  (await read(file, data)).filter((f) => FORM.has(f.rule));

type Json = Record<string, unknown> | unknown[];
/** Every place in a value, as its path. */
const placesIn = (value: unknown, path: readonly (string | number)[] = []): (readonly (string | number)[])[] => [
  path,
  ...(typeof value === "object" && value !== null
    ? Object.entries(value).flatMap(([key, one]) => placesIn(one, [...path, Array.isArray(value) ? Number(key) : key]))
    : []),
];
const withAt = (value: unknown, path: readonly (string | number)[], put: unknown): unknown => {
  const [step, ...rest] = path;
  if (step === undefined) return put;
  const copy = (Array.isArray(value) ? [...(value as unknown[])] : { ...(value as object) }) as Json;
  const inner = (value as Record<string | number, unknown>)[step];
  if (rest.length === 0 && put === undefined) {
    if (Array.isArray(copy)) copy.splice(Number(step), 1);
    else delete copy[step as string];
  } else (copy as Record<string | number, unknown>)[step] = withAt(inner, rest, put);
  return copy;
};

const TEXTS = [
  "",
  "a",
  "../x",
  "a/../b",
  "./a",
  "a//b",
  "/a",
  "~a",
  "a\\b",
  "c:/a",
  "con",
  "Con.svg",
  "a/nul.b",
  "-a",
  ".a",
  " a",

  "a ",
  "a.",
  "a/b.svg",
  "a%2Fb",
  "x.lnk",
  "x.URL",
  "__proto__",
  "a\u202eb",
  "a\u0000",
  "\ud800",
  "a\ufffd",
  "e\u0301",

  "#2D5A27",
  "#2d5a27",
  "#2d5a2",
  "red",
  "2026-02-29",
  "2024-02-29",
  "2026-1-1",
  "any",
  "vertical",
  "nearest",
  "null",

  "x".repeat(60),
  "x".repeat(61),
  "x".repeat(1000),
  "x".repeat(1001),
  "💙".repeat(60),
  "💙".repeat(1500),
  "y".repeat(10_001),
];
const junk = fc.oneof(
  fc.constantFrom<unknown>(undefined, null, true, {}, [], [1], [1, 2], [1, 2, 3, 4], [1, 2, 3, 4, 5], [[1, 2]], {
    a: 1,
  }),
  fc.constantFrom<unknown>(
    0,
    -1,
    0.5,
    1,
    2.5,
    30,
    29,
    50,
    51,
    255,
    256,
    4800,
    4801,
    10_000,
    10_001,
    1e6,
    1e6 + 1,
    1e300,
  ),
  fc.constantFrom(...TEXTS),
  fc.string({ unit: "binary", maxLength: 8 }),
);

describe("reader and schema", () => {
  it.each(["shop", "kit", "order"] as const)("%s: what one takes the other takes", async (file) => {
    expect(await formFaults(file, GOOD[file])).toEqual([]);
    expect(validators[file]?.(GOOD[file]), JSON.stringify(validators[file]?.errors)).toBe(true);
    // A text in place of the whole is read as the text of a file.
    const places = placesIn(GOOD[file]).filter((path) => path.length > 0);
    let refused = 0;
    await fc.assert(
      fc.asyncProperty(fc.constantFrom(...places), junk, async (path, put) => {
        const data = withAt(GOOD[file], path, put);
        const findings = await read(file, data);
        const faults = findings.filter((f) => FORM.has(f.rule));
        const taken = validators[file]?.(data) === true;
        const what = `${path.join(".")} = ${JSON.stringify(put)?.slice(0, 80)}: ${faults[0]?.message}`;
        if (faults.length > 0) refused++;
        if (faults.length > 0) expect(taken, what).toBe(false);
        // A name that is composed otherwise is read in NFC, where it may be shorter: the schema may then be the stricter. And
        // a bad name of something that is not there is reported as not there.
        const composed = typeof put === "string" && put.normalize("NFC") !== put;
        if (!taken && !composed)
          expect(
            findings.some((f) => f.level === "error"),
            what,
          ).toBe(true);
      }),
      { numRuns: 1500, seed: 12 },
    );
    expect(refused).toBeGreaterThan(300);
  });
  it("names, paths and titles: guards and patterns", () => {
    const schema = schemaOf("kit") as { properties: Record<string, { pattern: string }> };
    const piece = (
      schema.properties["pieces"] as unknown as { items: { properties: Record<string, { pattern: string }> } }
    ).items.properties;
    const patterns = [
      [badName, schema.properties["kit"]?.pattern],
      [badPath, piece["drawing"]?.pattern],
      [badTitle, schema.properties["title"]?.pattern],
    ] as const;
    const part = fc.oneof(
      fc.constantFrom(...TEXTS.filter((text) => text.length < 100)),
      fc.constantFrom("/", ".", "..", "\u200d", "\u0301", "ب", "\u00ad", ":", "%2e", "aux", "\n", "\u2028"),
      fc.string({ unit: "binary", maxLength: 3 }),
    );
    fc.assert(
      fc.property(fc.array(part, { maxLength: 4 }), (parts) => {
        const text = parts.join("");
        for (const [bad, pattern] of patterns)
          expect(new RegExp(pattern ?? "", "u").test(text), JSON.stringify(text)).toBe(bad(text) === undefined);
      }),
      { numRuns: 3000, seed: 5 },
    );
  });
  it.each([
    ["a colour in capitals", ["pieces", 0, "slots", 0, "colour"], "#2D5A27", true],
    ["a path out of the kit", ["pieces", 0, "drawing"], "../p.svg", false],
    ["a path out of the kit, further in", ["pieces", 0, "artwork", "file"], "a/../../b.svg", false],
    ["a kit's name of 1,000 characters", ["kit"], "x".repeat(1000), false],
    ["a piece's name of 1,000 characters", ["pieces", 0, "piece"], "x".repeat(1000), false],
    ["a slot's name of 1,000 characters", ["pieces", 0, "slots", 0, "slot"], "x".repeat(1000), false],
  ] as const)("%s: by both or by neither", async (_, path, put, taken) => {
    const data = withAt(GOOD.kit, path, put);
    expect([validators["kit"]?.(data), (await formFaults("kit", data)).length === 0]).toEqual([taken, taken]);
  });
  it("fields beyond the form are taken by both", async () => {
    const more = { ...GOOD.kit, author: "x" };
    expect(validators["kit"]?.(more)).toBe(true);
    expect(await formFaults("kit", more)).toEqual([]);
  });
});
