import { checkPrint, checkWhole, WholePrint, writePrint } from "@kitforme/files";
import { outputProfile } from "@kitforme/prepress";
import type { Sheet } from "@kitforme/sheet";
import { PDFDict, PDFDocument, PDFName, PDFString, PDFWriter } from "pdf-lib";
import { beforeAll, describe, expect, it } from "vitest";
import { has, poppler, says } from "../support/oracle.ts";
import { harbourSheet, press } from "../support/sheets.ts";

/** A print PDF for each sheet, and all in one file. */
let [singles, whole, sheets]: [Uint8Array[], Uint8Array, Sheet[]] = [[], new Uint8Array(), []];
const joined = async (prints: readonly Uint8Array[]): Promise<Uint8Array> => {
  const parts: Uint8Array[] = [];
  const print = new WholePrint("Harbour, all sheets", (bytes) => Promise.resolve(void parts.push(bytes)));
  for (const [i, one] of prints.entries()) expect(await print.add(one)).toBe(i + 1);
  const { bytes } = await print.end();
  const all = Buffer.concat(parts);
  expect(bytes).toBe(all.length);
  return all;
};
const look = (bytes: Uint8Array) => ({
  length: bytes.length,
  read: (at: number, length: number) => Promise.resolve(bytes.subarray(at, at + length)),
});
const expected = () => sheets.map(({ width, height }) => ({ width, height, condition: true }));

beforeAll(async () => {
  const harbour = await harbourSheet();
  // The second lacks a piece's words; the third is the first on another size of paper.
  const [first, ...rest] = harbour.placed;
  if (!first) throw new Error("an empty sheet");
  sheets = [
    harbour,
    { ...harbour, sheet: 2, placed: [{ ...first, texts: [] }, ...rest] },
    { ...harbour, sheet: 3, height: harbour.height + 30_000 },
  ];
  for (const sheet of sheets)
    singles.push(await writePrint(sheet, { title: `Sheet ${sheet.sheet}`, profile: outputProfile(press()) }));
  whole = await joined(singles);
});

describe("print PDFs of several sheets in one file", () => {
  it("has every sheet as a page, pixel for pixel, and what they share once", async () => {
    const document = await PDFDocument.load(whole, { updateMetadata: false });
    expect(document.getPageCount()).toBe(3);
    const [one = new Uint8Array()] = singles;
    expect(whole.length).toBeLessThan(one.length * 1.5);
    expect(Buffer.compare(await joined(singles), whole)).toBe(0);
  });

  it.skipIf(!has("pdftoppm"))("renders as its sheets do by poppler", () => {
    for (const [i, single] of singles.entries()) {
      const [alone, within] = [poppler(single, 50), poppler(whole, 50, i + 1)];
      expect([within.width, within.height]).toEqual([alone.width, alone.height]);
      expect(Buffer.compare(alone.data, within.data)).toBe(0);
    }
  });

  it.skipIf(!has("qpdf") || !has("pdfinfo"))("is a sound file to qpdf, with three pages to poppler", () => {
    expect(says("qpdf", (file) => ["--check", file], whole)).toMatch(/No syntax or stream encoding errors found/);
    expect(says("pdfinfo", (file) => [file], whole)).toMatch(/^Pages: +3$/m);
  });

  it("keeps the rules of print PDFs, read whole by one reader and page by page by the other", async () => {
    expect(await checkWhole(look(whole), expected())).toEqual([]);
    const same = sheets.slice(0, 2);
    const { width, height } = same[0] as Sheet;
    expect(await checkPrint(await joined(singles.slice(0, 2)), { width, height, pages: 2, condition: true })).toEqual(
      [],
    );
  });

  it("is refused where a page, the table of objects or a rule is broken, with the page", async () => {
    const broken = async (from: string, to: string): Promise<string> => {
      const text = Buffer.from(whole).toString("latin1");
      expect(text.split(from).length).toBeGreaterThan(1);
      expect(to.length).toBe(from.length);
      const breaches = await checkWhole(look(Buffer.from(text.replace(from, to), "latin1")), expected());
      return breaches.map(({ letter, says: what }) => `${letter} ${what}`).join("\n");
    };
    expect(await checkWhole(look(whole), expected().slice(1))).toEqual([
      { letter: "pages", says: "The file has 3 pages instead of 2." },
    ]);
    expect(await checkWhole(look(whole), expected().reverse())).toMatchObject([
      { letter: "boxes", says: expect.stringMatching(/^Page 1: /) as string },
      {},
      {},
      {},
    ]);
    expect(await broken("%PDF-1.6", "%PDF-1.7")).toMatch(/^a Page 1: /);
    expect(await broken("/GTS_PDFX\n", "/GTS_PDFY\n")).toMatch(/^g Page 1: /);
    expect(await broken("\n3 0 obj\n", "\n4 0 obj\n")).toMatch(/^pages .*object 3 is not where its table says/);
    expect(await broken("startxref\n", "startxreg\n")).toMatch(/no table of objects/);
    const third = Buffer.from(whole).toString("latin1").split("/Type /Page\n")[3]?.split("endobj")[0] ?? "";
    expect(await broken(third, third.replace("/TrimBox", "/TrimBux"))).toBe(
      "boxes Page 3: TrimBox of a page is not the sheet.",
    );
  });

  it("keeps layers that are shown apart from hidden ones of the same name", async () => {
    const layered = async (hidden: boolean): Promise<Uint8Array> => {
      const document = await PDFDocument.load(singles[0] as Uint8Array, { updateMetadata: false });
      const { context, catalog } = document;
      const layer = context.register(context.obj({ Type: "OCG", Name: PDFString.of("Layer 1") }));
      const d = { Name: PDFString.of("Layers"), BaseState: "ON", Order: [layer], OFF: hidden ? [layer] : [] };
      catalog.set(PDFName.of("OCProperties"), context.obj({ OCGs: [layer], D: d }));
      const page = document.getPages()[0]?.node;
      page?.Resources()?.set(PDFName.of("Properties"), context.obj({ MC0: layer }));
      return PDFWriter.forContext(context, Number.POSITIVE_INFINITY).serializeToBuffer();
    };
    const both = await PDFDocument.load(await joined([await layered(false), await layered(true), await layered(true)]));
    const layers = both.catalog.lookup(PDFName.of("OCProperties"), PDFDict);
    expect(
      layers
        .get(PDFName.of("OCGs"))
        ?.toString()
        .match(/\d+ 0 R/g),
    ).toHaveLength(2);
    const used = both.getPages().map(({ node }) => String(node.Resources()?.lookup(PDFName.of("Properties"), PDFDict)));
    expect(used[1]).toBe(used[2]);
    expect(used[0]).not.toBe(used[1]);
    const off = String(layers.lookup(PDFName.of("D"), PDFDict).get(PDFName.of("OFF")));
    expect(used[1]).toContain(/\d+ 0 R/.exec(off)?.[0] ?? "no layer");
  });

  it("takes objects over that refer to each other in a ring", async () => {
    const document = await PDFDocument.load(singles[0] as Uint8Array, { updateMetadata: false });
    const { context } = document;
    const [a, b] = [context.nextRef(), context.nextRef()];
    context.assign(a, context.obj({ Next: b }));
    context.assign(b, context.obj({ Next: a }));
    document.getPages()[0]?.node.set(PDFName.of("PieceInfo"), a);
    const bytes = await PDFWriter.forContext(context, Number.POSITIVE_INFINITY).serializeToBuffer();
    const read = await PDFDocument.load(await joined([bytes, bytes]));
    for (const { node } of read.getPages()) {
      const ring = node.lookup(PDFName.of("PieceInfo"), PDFDict);
      expect(ring.lookup(PDFName.of("Next"), PDFDict).lookup(PDFName.of("Next"), PDFDict)).toBe(ring);
    }
  });
});
