import { Ajv2020 } from "ajv/dist/2020.js";
import { createHash } from "node:crypto";
import { jobFile, jobJson } from "@kitforme/files";
import { readMadeJob, schemaOf } from "@kitforme/kit";
import type { ToleranceStatement } from "@kitforme/prepress";
import fc from "fast-check";
import { beforeAll, describe, expect, it } from "vitest";
import { harbourJob, jobOf } from "../support/jobs.ts";
import { boardSheet, insert, placed, sheetOf } from "../support/sheets.ts";

// The open shape of a JSON file.
let json: any;
beforeAll(async () => {
  json = JSON.parse(
    JSON.stringify(
      jobJson(
        await harbourJob({
          findings: [{ level: "note", rule: "r", where: { kit: "k" }, message: "m", hint: "h" }],
          papers: [jobFile("job.docket.pdf", new Uint8Array([1]))],
        }),
      ),
    ),
  );
});

/** Every place in a value, as its path. */
const placesIn = (value: unknown, path: readonly string[] = []): (readonly string[])[] => [
  path,
  ...(typeof value === "object" && value !== null
    ? Object.entries(value).flatMap(([key, one]) => placesIn(one, [...path, key]))
    : []),
];

describe("job.json", () => {
  it("names the job, its orders and its findings as the contract has them", () => {
    expect(json).toMatchObject({
      job: "2f81c0de",
      orders: ["HL-2041", "HL-2042"],
      findings: [{ level: "note", rule: "r", where: { kit: "k" }, message: "m", hint: "h" }],
    });
  });

  it("gives a sheet in millimetres with the names of its files", () => {
    expect(json.sheets[0]).toMatchObject({
      sheet: 1,
      stock: "card",
      size: [320, 450],
      run: 13,
      code: "KF1|2f81c0de|1|2",
      files: {
        print: "sheet-001.print.pdf",
        cut: { svg: "sheet-001.cut.svg", hpgl: "sheet-001.cut.hpgl" },
        proof: "sheet-001.proof.png",
      },
      cutSameAs: 1,
      yield: 0.0712,
      cutLength: 1234.568,
    });
    expect(json.sheets[0].marks[0]).toEqual({ at: [12, 15], shape: "disc", size: 5 });
    expect(json.sheets[1].files).not.toHaveProperty("print");
  });

  it("gives matrices that take the drawing's millimetres to the sheet's, rigid and rounded once", () => {
    expect(json.sheets[0].placements.map((p: { matrix: number[] }) => p.matrix).slice(0, 3)).toEqual([
      [1, 0, 0, -1, 30, 420],
      [0, 1, 1, 0, 60, 250],
      [0.838671, 0.544639, 0.544639, -0.838671, 150, 330],
    ]);
    for (const { matrix } of json.sheets[0].placements) {
      const [a, b, c, d] = matrix;
      expect(a * d - b * c).toBeCloseTo(-1, 5);
      expect(a * c + b * d).toBeCloseTo(0, 5);
    }
    expect(JSON.stringify(json)).not.toMatch(/-0[,\]]/);
  });

  it("keeps a move to the micrometre", () => {
    const odd = { ...placed(1, insert(), 0, [0, 0], []), matrix: [1, 0, 0, -1, 12_345.678, 98_765.4321] as const };
    expect(jobJson(jobOf([sheetOf([odd])]))).toMatchObject({
      sheets: [{ placements: [{ matrix: [1, 0, 0, -1, 12.346, 98.765] }] }],
    });
  });

  it("says whose pieces a placement makes, and what is over", () => {
    expect(json.sheets[0].placements[1]).toMatchObject({
      number: 2,
      kit: "harbour-lantern",
      piece: "wall",
      texts: { boat: "Ålesund" },
      turn: 90,
      serves: [{ order: "HL-2041", first: 14, last: 20 }],
      overs: 6,
    });
  });

  it("adds up: sheets by runs, yield by the paper used, pieces by what orders get", () => {
    expect(json.totals).toEqual({
      sheets: 18,
      layouts: 2,
      cutLayouts: 1,
      yield: 0.0712,
      // Walls 13 + 7 + 13 + 7, stickers 5, inserts 5 + 5.
      pieces: 55,
      overs: 6 + 6 + 8,
    });
    const half = { ...boardSheet(), yield: 0.5, run: 1, width: 640_000, cutAs: 3, sheet: 3 };
    const mixed = jobJson(jobOf([sheetOf([placed(1, insert(), 0, [0, 0], [])], { yield: 0.2, run: 3 }), half])) as {
      totals: Record<string, number>;
    };
    // (0.2 x 3 + 0.5 x 2) / 5 of equal sheets' areas.
    expect(mixed.totals).toMatchObject({ yield: 0.32, cutLayouts: 2, sheets: 4 });
  });

  it("lists every file with its length and SHA-256", () => {
    expect(json.files.map((f: { name: string }) => f.name)).toEqual([
      "sheet-001.print.pdf",
      "sheet-001.cut.svg",
      "sheet-001.cut.hpgl",
      "sheet-001.proof.png",
      "sheet-002.cut.svg",
      "sheet-002.cut.hpgl",
      "sheet-002.proof.png",
      "job.docket.pdf",
    ]);
    const bytes = new TextEncoder().encode("abc");
    // FIPS 180-2, example of SHA-256.
    expect(jobFile("a", bytes)).toEqual({
      name: "a",
      bytes: 3,
      sha256: "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
    });
    expect(createHash("sha256").update(bytes).digest("hex")).toBe(jobFile("a", bytes).sha256);
  });

  it("carries the plan's bound, and the statement of tolerance where there is one", () => {
    expect(json.plan).toEqual({ cost: 58, bound: { sheets: 17.2, cost: 57.2 } });
    expect(json.sheets[0]).not.toHaveProperty("tolerance");
    const job = jobOf([boardSheet()]);
    const piece = { kit: "k", piece: "p", bleed: 3000, worst: 1501, likely: 1119, spareWorst: 1499, spareLikely: 1881 };
    const tolerance: ToleranceStatement = {
      register: 500,
      cutter: 1000,
      paper: "never",
      pieces: [{ ...piece, paper: "never" }],
      words: "No paper shows.",
    };
    const stated = jobJson({ ...job, sheets: job.sheets.map((s) => ({ ...s, tolerance })) });
    // Every length of job.json is in millimetres, without exception.
    expect(stated).toMatchObject({
      sheets: [
        {
          tolerance: {
            register: 0.5,
            cutter: 1,
            pieces: [{ bleed: 3, worst: 1.501, likely: 1.119, spareWorst: 1.499, spareLikely: 1.881 }],
          },
        },
      ],
      units: { length: "mm", angle: "degree" },
    });
  });

  it("fits the schema of job.json, and has no field that the schema does not describe", () => {
    const closed: unknown = JSON.parse(JSON.stringify(schemaOf("job")), (_, node: unknown) =>
      typeof node === "object" && node !== null && "properties" in node && "type" in node
        ? { ...node, additionalProperties: false }
        : node,
    );
    for (const schema of [schemaOf("job"), closed as object]) {
      const validate = new Ajv2020({ strict: true, allErrors: true }).compile(schema);
      expect(validate(json), JSON.stringify(validate.errors)).toBe(true);
    }
  });

  it("is read by a fit and a remake where the schema takes it, and refused where the schema refuses it", () => {
    const validate = new Ajv2020({ strict: true }).compile(schemaOf("job"));
    const text = JSON.stringify(json);
    const read = (one: unknown) => readMadeJob(JSON.stringify(one)).value !== undefined;
    expect([validate(json), read(json)]).toEqual([true, true]);
    const places = placesIn(json).filter((path) => path.length > 0);
    const junk = fc.constantFrom<unknown>(
      undefined,
      null,
      true,
      "",
      "x",
      "back",
      "mm",
      -1,
      0,
      0.5,
      1,
      3,
      1.5,
      1e5,
      1e300,
      {},
      [],
      [1, 2],
      [0, 0],
      [{}],
    );
    let refused = 0;
    fc.assert(
      fc.property(fc.constantFrom(...places), junk, (path, put) => {
        const changed: unknown = JSON.parse(text);
        const last = path.at(-1) as string;
        const holder = path.slice(0, -1).reduce((at: any, step) => at[step], changed);
        if (put !== undefined) holder[last] = put;
        else if (Array.isArray(holder)) holder.splice(Number(last), 1);
        else delete holder[last];
        const taken = validate(changed);
        if (!taken) refused++;
        expect(read(changed), `${path.join(".")} = ${JSON.stringify(put)}`).toBe(taken);
      }),
      { numRuns: 600, seed: 10 },
    );
    expect(refused).toBeGreaterThan(200);
  });
});
