import { execFileSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { Job } from "@kitforme/files";
import { mm } from "@kitforme/geometry";
import { writeAssembly } from "@kitforme/papers";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { harbourJob, jobOf } from "../support/jobs.ts";
import { kitOf, svgMm } from "../support/kits.ts";
import { oracle } from "../support/promised.ts";

const root = mkdtempSync(join(tmpdir(), "kitforme-assembly-"));
const pdf = join(root, "assembly.pdf");
const WALL = { x: mm(12), y: mm(40) };
const WALLED: Partial<Job> = {
  joins: {
    "harbour-lantern": [{ tab: "Q7", piece: "wall", at: WALL, into: { piece: "wall", at: { x: mm(50), y: mm(30) } } }],
  },
};
let bytes: Uint8Array;
let text: string;
beforeAll(async () => {
  bytes = (await writeAssembly(await harbourJob(WALLED))) as Uint8Array;
  writeFileSync(pdf, bytes);
  text = oracle("pdftotext") ? execFileSync("pdftotext", ["-layout", pdf, "-"], { encoding: "utf8" }) : "";
});
afterAll(() => rmSync(root, { recursive: true, force: true }));

describe.runIf(oracle("pdftotext"))("assembly sheets, read back by poppler", () => {
  it("name the kit, every piece with its count, and the scale", async () => {
    expect(text).toContain("Harbour lantern");
    const { sheets } = await harbourJob();
    const pieces = new Map(
      sheets.flatMap(({ sheet }) =>
        sheet.placed.map(({ prepared: { piece } }) => [piece.piece, piece.perKit] as const),
      ),
    );
    expect(pieces.size).toBeGreaterThan(1);
    // Once in the picture of all, once by itself.
    for (const [name, perKit] of pieces) expect(text.split(`${perKit} × ${name}`).length - 1).toBe(2);
    expect(text).toMatch(/Drawn at (true size, 1:1|1:[\d.]+)/);
    for (const words of ["crease", "perforation"]) expect(text).toContain(words);
  });
  it("carry a join's letter at both of its places, as far apart as the piece is drawn", () => {
    expect(text).toContain("Q7: wall into wall");
    const words = execFileSync("pdftotext", ["-bbox", pdf, "-"], { encoding: "utf8" });
    const at = [...words.matchAll(/xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="[\d.]+">Q7</g)].map(
      ([, x = "", y = "", right = ""]) => [(Number(x) + Number(right)) / 2, Number(y)] as const,
    );
    expect(at).toHaveLength(2);
    // Poppler goes down the page; the left one is the tab.
    const [from = [0, 0], into = [0, 0]] = [...at].sort(([a], [b]) => a - b);
    // The wall of 60 x 50 mm is drawn at true size: 38 mm to the right, 10 mm up.
    expect(((into[0] - from[0]) * 25.4) / 72).toBeCloseTo(38, 1);
    expect(((into[1] - from[1]) * 25.4) / 72).toBeCloseTo(-10, 1);
  });
});

it("assembly sheets are the same bytes twice, and none for a job without sheets", async () => {
  expect(Buffer.from((await writeAssembly(await harbourJob(WALLED))) ?? []).equals(bytes)).toBe(true);
  expect(await writeAssembly(jobOf([]))).toBeUndefined();
});

describe("joins of a kit", () => {
  const base = { piece: "p", drawing: "p.svg", stock: "card", lines: { cutting: "#cut" } };
  const files = { "p.svg": svgMm(90, 60, '<rect id="cut" width="90" height="60"/>') };
  const read = (into: object) =>
    kitOf({ kit: "k", pieces: [base], joins: [{ tab: "A", piece: "p", at: [12, 40], into }] }, files);
  it("come in micrometres", async () => {
    const { value, findings } = await read({ piece: "p", at: [90, 0] });
    expect(findings).toEqual([]);
    expect(value?.joins).toEqual([
      { tab: "A", piece: "p", at: { x: 12_000, y: 40_000 }, into: { piece: "p", at: { x: 90_000, y: 0 } } },
    ]);
  });
  it("name pieces of the kit and places on their drawings", async () => {
    const unknown = await read({ piece: "roof", at: [1, 1] });
    expect(unknown.value).toBeUndefined();
    expect(unknown.findings).toMatchObject([
      { level: "error", rule: "join-piece-unknown", where: { kit: "k", field: "joins[0].into.piece" } },
    ]);
    const off = await read({ piece: "p", at: [12, 60.5] });
    expect(off.findings).toMatchObject([
      { level: "error", rule: "join-outside", where: { piece: "p", field: "joins[0].into.at", at: [12, 60.5] } },
    ]);
  });
});
