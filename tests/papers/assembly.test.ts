import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { Job } from "@kitforme/files";
import { mm } from "@kitforme/geometry";
import { writeAssembly } from "@kitforme/papers";
import { openAssembly } from "@kitforme/prepress";
import { PDFDocument, PDFName, StandardFonts } from "pdf-lib";
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

describe("the designer's own pages", () => {
  const steps = async (count: number, more: (document: PDFDocument) => void = () => undefined): Promise<Uint8Array> => {
    const document = await PDFDocument.create();
    const font = await document.embedFont(StandardFonts.Courier);
    for (let i = 1; i <= count; i++) {
      const page = document.addPage([300, 400]);
      page.drawText(`Step number ${i}`, { x: 40, y: 300, size: 20, font });
    }
    more(document);
    return document.save();
  };
  const open = (file: Uint8Array) => openAssembly({ kit: "harbour-lantern", file: "steps.pdf", bytes: file });

  it.runIf(oracle("pdftotext") && oracle("qpdf"))(
    "follow the kit's sheet at their own size, and nothing in them runs (oracles: poppler, qpdf)",
    async () => {
      const { value, findings } = await open(
        await steps(2, (document) => {
          document.addJavaScript("hello", "app.alert('hello')");
          const { context } = document;
          const link = { Type: "Annot", Subtype: "Link", Rect: [0, 0, 90, 90], A: { S: "URI", URI: "x:y" } };
          document.getPage(0).node.set(PDFName.of("Annots"), context.obj([link] as never));
        }),
      );
      // Courier stands in no file: whoever prints it has another.
      expect(findings).toMatchObject([{ level: "warning", rule: "assembly-font-missing" }]);
      expect(value?.pages).toHaveLength(2);
      const own = { assembly: { "harbour-lantern": value as NonNullable<typeof value> } };
      const appended = join(root, "appended.pdf");
      writeFileSync(appended, (await writeAssembly(await harbourJob({ ...WALLED, ...own }))) as Uint8Array);
      const told = (program: string, ...args: string[]) => execFileSync(program, args, { encoding: "utf8" });
      expect(told("qpdf", "--check", appended)).toContain("No syntax or stream encoding errors");
      const before = Number(/Pages:\s+(\d+)/.exec(told("pdfinfo", pdf))?.[1]);
      expect(told("pdfinfo", "-f", "1", "-l", "99", appended)).toMatch(
        new RegExp(`Page\\s+${before + 2} size:\\s+300 x 400`),
      );
      for (const i of [1, 2])
        expect(told("pdftotext", "-f", `${before + i}`, "-l", `${before + i}`, appended, "-")).toContain(
          `Step number ${i}`,
        );
      expect(told("pdftotext", "-f", "1", "-l", "1", appended, "-")).toContain(`page 1 of ${before + 2}`);
      expect(told("qpdf", "--qdf", "--object-streams=disable", appended, "-")).not.toMatch(/JavaScript|URI|Annot/);
    },
  );
  it("are refused where they cannot be used, each with its reason", async () => {
    const rules = async (file: Uint8Array) => (await open(file)).findings.map(({ rule }) => rule);
    const good = await steps(1);
    expect(await rules(good.subarray(0, good.length - 200))).toEqual(["assembly-unreadable"]);
    expect(await rules(await steps(41))).toEqual(["assembly-too-long"]);
    if (oracle("qpdf")) {
      writeFileSync(join(root, "open.pdf"), good);
      const locked = join(root, "locked.pdf");
      execFileSync("qpdf", ["--encrypt", "", "owner", "256", "--", join(root, "open.pdf"), locked]);
      expect(await rules(readFileSync(locked))).toEqual(["assembly-encrypted"]);
    }
    const form = { piece: "p", drawing: "p.svg", stock: "card", lines: { cutting: "#cut" } };
    const files = { "p.svg": svgMm(90, 60, '<rect id="cut" width="90" height="60"/>'), "no.pdf": "no PDF at all" };
    const read = async (assembly: string) =>
      (await kitOf({ kit: "k", assembly, pieces: [form] }, files)).findings.map(({ rule, where }) => [
        rule,
        where.field,
      ]);
    expect(await read("no.pdf")).toEqual([["assembly-no-pdf", "assembly"]]);
    expect(await read("gone.pdf")).toEqual([["file-missing", "assembly"]]);
    expect(await read("../out.pdf")).toEqual([["path-outside-kit", "assembly"]]);
  });
});

it("a remake has no assembly sheets: they would show less than the kit", async () => {
  expect(await writeAssembly(await harbourJob({ remakes: { job: "2f81c0de", spoiled: ["1:1"] } }))).toBeUndefined();
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
