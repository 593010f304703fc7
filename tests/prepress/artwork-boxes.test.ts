// Which box of a page is used, what of it is bleed, and what a page carries beside its content.
import { prepare } from "@kitforme/prepress";
import { PDFDocument, PDFName, PDFString } from "pdf-lib";
import { describe, expect, it } from "vitest";
import { file, page, piece, press, PT, ringAt, valuesAt } from "./artwork-samples.ts";

const name = (key: string): PDFName => PDFName.of(key);
const fill = (x: number, y: number, width: number, height: number): string =>
  `${PT(x)} ${PT(y)} ${PT(width)} ${PT(height)} re f`;
const rect = (x0: number, y0: number, x1: number, y1: number): number[] => [x0, y0, x1, y1].map(PT);
const cmyk = press("cmyk");
const rulesOf = (findings: readonly { level: string; rule: string }[]) => findings.map((f) => `${f.level} ${f.rule}`);

/** A page of 40 mm: trim of 20 mm in its middle, bleed of 3 mm in cyan, trim in magenta, crop marks in black beyond the bleed. */
const marked = (boxes: Readonly<Record<string, number[]>>, entries: Readonly<Record<string, number>> = {}) =>
  page(
    `0 0 0 1 k ${fill(0, 9.9, 6, 0.2)} ${fill(9.9, 0, 0.2, 6)} ${fill(34, 9.9, 6, 0.2)} 1 0 0 0 k ${fill(7, 7, 26, 26)} 0 1 0 0 k ${fill(10, 10, 20, 20)}`,
    {},
    { MediaBox: rect(0, 0, 40, 40), ...boxes, ...entries },
  );
const TRIM = { TrimBox: rect(10, 10, 30, 30) };
const BLEED = { BleedBox: rect(7, 7, 33, 33) };

describe("the box of a page", () => {
  it("is the trim, its bleed kept, its crop marks left out", async () => {
    const { value, findings } = await prepare(piece(file("pdf", await marked({ ...TRIM, ...BLEED }))), cmyk);
    // The bleed of this page is of another colour, so that the two can be told apart.
    expect(rulesOf(findings)).toEqual(["warning bleed-other-colour"]);
    expect(value?.bleed).toMatchObject({ least: 2000, made: 0 });
    expect(value?.layers.map(({ kind }) => kind)).toEqual(["page"]);
    const layer = value?.layers[0];
    expect(layer?.box.x).toBeCloseTo(-3000, 3);
    expect(layer?.box.width).toBeCloseTo(26_000, 3);
  });

  it("is turned with the page", async () => {
    const uneven = { ...TRIM, BleedBox: rect(7, 10, 30, 30) };
    const { value } = await prepare(piece(file("pdf", await marked(uneven, { Rotate: 90 }))), cmyk);
    // Clockwise: the left is on top.
    const box = value?.layers.at(-1)?.box;
    expect([box?.x, box?.y, box?.width, box?.height].map((n) => Math.round(n ?? 0))).toEqual([
      0, -3000, 20_000, 23_000,
    ]);
  });

  it("without a bleed box takes what lies around the trim only where no marks can stand", async () => {
    const far = await prepare(piece(file("pdf", await marked(TRIM))), cmyk);
    expect(far.value?.layers.at(-1)?.box).toEqual({ x: 0, y: 0, width: 20_000, height: 20_000 });
    expect(ringAt(far.value?.layers ?? [], 21.5, 10)).toEqual([0, 255, 0, 0]);
    const near = await prepare(piece(file("pdf", await marked({ ...TRIM, CropBox: rect(7, 7, 33, 33) }))), cmyk);
    expect(near.value?.bleed).toMatchObject({ least: 2000, made: 0 });
  });

  it.each([
    ["crop", 40],
    ["media", 40],
    ["bleed", 26],
    ["trim", 26],
  ] as const)("is the one asked for: %s", async (from, millimetres) => {
    const bytes = await marked({ ...TRIM, ...BLEED });
    const { value } = await prepare(piece({ ...file("pdf", bytes), from }), cmyk);
    const layer = value?.layers.at(-1);
    if (layer?.kind !== "page") throw new Error("no page");
    expect(layer.box.width).toBeCloseTo(from === "trim" ? 26_000 : 20_000, 3);
    const { width } = (await PDFDocument.load(layer.page.bytes, { updateMetadata: false })).getPage(0).getMediaBox();
    expect(width).toBeCloseTo(PT(millimetres), 3);
  });

  it("that is not there is reported and the crop box taken", async () => {
    const { findings } = await prepare(piece({ ...file("pdf", await marked({})), from: "bleed" }), cmyk);
    expect(rulesOf(findings)).toContain("warning artwork-box-missing");
  });

  it("without area is an error", async () => {
    const { value, findings } = await prepare(
      piece(file("pdf", await page("", {}, { MediaBox: [0, 0, 100, 100], CropBox: [50, 50, 50, 90] }))),
      cmyk,
    );
    expect(value).toBeUndefined();
    expect(findings).toMatchObject([{ level: "error", rule: "artwork-page-empty" }]);
  });

  it("is of the page asked for", async () => {
    const bytes = await page(`1 0 0 0 k ${fill(0, 0, 20, 20)}`, {}, {}, (document: PDFDocument) => {
      const second = document.addPage([PT(20), PT(20)]);
      const { context } = document;
      second.node.set(name("Contents"), context.register(context.stream(`0 0 1 0 k ${fill(0, 0, 20, 20)}`)));
    });
    const { value, findings } = await prepare(piece({ ...file("pdf", bytes), page: 2 }), cmyk);
    expect(findings).toEqual([]);
    expect(ringAt(value?.layers ?? [], 21.5, 10)).toEqual([0, 0, 255, 0]);
    const none = await prepare(piece({ ...file("pdf", bytes), page: 3 }), cmyk);
    expect(none.findings).toMatchObject([{ level: "error", rule: "artwork-missing-page" }]);
    expect(none.findings[0]?.message).toContain("page 3; the PDF has 2");
  });
});

describe("form fields and comments", () => {
  const annotated = (entries: Readonly<Record<string, object | number>>, drawn = true) =>
    page(`0 1 0 0 k ${fill(0, 0, 20, 20)}`, {}, {}, (document) => {
      const { context } = document;
      const looks = context.register(
        context.stream("1 0 0 0 k 0 0 10 10 re f", { Type: "XObject", Subtype: "Form", BBox: [0, 0, 10, 10] }),
      );
      const one = context.obj({
        Type: "Annot",
        Subtype: "Widget",
        Rect: rect(5, 5, 15, 15),
        T: PDFString.of("Name"),
        V: PDFString.of("Aino"),
        ...(drawn ? { AP: { N: looks } } : {}),
        ...entries,
      } as never);
      document.getPage(0).node.set(name("Annots"), context.obj([context.register(one)]));
    });

  it("are drawn as a viewer prints them", async () => {
    const { value, findings } = await prepare(piece(file("pdf", await annotated({ F: 4 }))), press("grey"));
    expect(rulesOf(findings)).toEqual(["note artwork-rasterised", "warning artwork-annotations"]);
    expect(findings[1]?.message).toContain("1 form field");
    // Cyan is lighter than magenta.
    const [inside] = valuesAt(value?.layers ?? [], 10, 10) as number[];
    const [outside] = valuesAt(value?.layers ?? [], 2, 2) as number[];
    expect(Math.abs((inside as number) - (outside as number))).toBeGreaterThan(20);
  });

  it("that do not print, or are hidden, are left out", async () => {
    for (const F of [0, 4 + 2]) {
      const { findings } = await prepare(piece(file("pdf", await annotated({ F }))), cmyk);
      expect(findings).toEqual([]);
    }
  });

  it("with a value that nobody has drawn are an error", async () => {
    const { findings } = await prepare(piece(file("pdf", await annotated({ F: 4 }, false))), cmyk);
    expect(findings).toMatchObject([{ level: "error", rule: "artwork-form-blank" }]);
    expect(findings[0]?.message).toContain("Name");
  });
});

describe("a page looked at as a prepress desk would", () => {
  const on = async (content: string, resources: Readonly<Record<string, object>> = {}) =>
    (await prepare(piece(file("pdf", await page(`0 1 0 0 k ${fill(0, 0, 20, 20)} ${content}`, resources))), cmyk))
      .findings;

  it("has lines below 0.1 mm reported at their place, and none above", async () => {
    const found = await on(`${PT(0.05)} w ${PT(4)} ${PT(4)} m ${PT(9)} ${PT(4)} l S`);
    expect(found).toMatchObject([{ level: "warning", rule: "artwork-line-thin", where: { at: [4, 16] } }]);
    expect(found[0]?.message).toContain("0.05 mm");
    expect((await on("0 w 9 9 m 20 9 l S"))[0]?.message).toContain("without width");
    expect(await on(`${PT(0.1)} w 9 9 m 20 9 l S`)).toEqual([]);
    // The width is what the page makes of it.
    expect(rulesOf(await on(`q .1 0 0 .1 0 0 cm ${PT(0.5)} w 90 90 m 200 90 l S Q`))).toEqual([
      "warning artwork-line-thin",
    ]);
  });

  it("has white that overprints as an error", async () => {
    const over = { ExtGState: { O: { op: true, OP: true, OPM: 1 } } };
    const found = await on(`/O gs 0 0 0 0 k ${fill(5, 5, 4, 4)}`, over);
    expect(found).toMatchObject([{ level: "error", rule: "artwork-white-overprints", where: { at: [5, 15] } }]);
    expect(await on(`0 0 0 0 k ${fill(5, 5, 4, 4)}`, over)).toEqual([]);
    expect(await on(`/O gs 0 0 0 1 k ${fill(5, 5, 4, 4)}`, over)).toEqual([]);
    // In mode 0 nothing of CMYK is paint like any other.
    const plain = { ExtGState: { O: { op: true, OPM: 0 } } };
    expect(await on(`/O gs 0 0 0 0 k ${fill(5, 5, 4, 4)}`, plain)).toEqual([]);
  });

  it("has its transparency named", async () => {
    const half = { ExtGState: { H: { ca: 0.5 } } };
    expect(rulesOf(await on(`/H gs 1 0 0 0 k ${fill(5, 5, 4, 4)}`, half))).toEqual(["note artwork-transparent"]);
  });

  it("does not miss fonts that are only declared", async () => {
    const font = { Font: { F: { Type: "Font", Subtype: "Type1", BaseFont: "Helvetica" } } };
    expect(await on("BT /F 12 Tf ET", font)).toEqual([]);
    expect(await on("BT /F 12 Tf 3 Tr (unseen) Tj ET", font)).toEqual([]);
    expect(rulesOf(await on("BT /F 12 Tf (seen) Tj ET", font))).toContain("warning artwork-live-text");
  });
});

describe("a hidden layer", () => {
  it("is taken out of content, forms and letters, and what it sets holds on", async () => {
    const bytes = await page(
      `/OC /L BDC 0 0 1 0 k ${fill(0, 0, 20, 20)} /X Do EMC ${fill(0, 0, 20, 20)} /Y Do`,
      {},
      {},
      (document) => {
        const { context } = document;
        const layer = context.register(context.obj({ Type: "OCG", Name: PDFString.of("Die") }));
        const form = (more: object) =>
          context.register(
            context.stream(`0 0 0 1 k ${fill(0, 0, 20, 20)}`, {
              Type: "XObject",
              Subtype: "Form",
              BBox: rect(0, 0, 20, 20),
              ...more,
            } as never),
          );
        const { node } = document.getPage(0);
        node.Resources()?.set(name("Properties"), context.obj({ L: layer }));
        node.Resources()?.set(name("XObject"), context.obj({ X: form({}), Y: form({ OC: layer }) }));
        document.catalog.set(name("OCProperties"), context.obj({ OCGs: [layer], D: { OFF: [layer] } } as never));
      },
    );
    const { value, findings } = await prepare(piece(file("pdf", bytes)), cmyk);
    expect(rulesOf(findings)).toEqual(["warning artwork-hidden-layers"]);
    expect(value?.layers.at(-1)?.kind).toBe("page");
    // Yellow was set inside the layer and paints after it.
    expect(ringAt(value?.layers ?? [], 21.5, 10)).toEqual([0, 0, 255, 0]);
  });
});
