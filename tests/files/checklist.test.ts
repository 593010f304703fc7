import { writePrint } from "@kitforme/files";
import { outputProfile } from "@kitforme/prepress";
import { PDFArray, PDFContext, PDFDict, PDFDocument, PDFName, PDFRawStream, PDFString, PDFWriter } from "pdf-lib";
import { beforeAll, describe, expect, it } from "vitest";
import { broken, LETTERS } from "../support/checklist.ts";
import { harbourSheet, press } from "../support/sheets.ts";

let good: Uint8Array;
beforeAll(async () => {
  good = await writePrint(await harbourSheet(), { title: "Harbour & sons <1>", profile: outputProfile(press()) });
});

type Change = (context: PDFContext, catalog: PDFDict, page: PDFDict, info: PDFDict) => void;

/** The good file with one thing changed, saved with the header it had. */
const spoiled = async (change: Change): Promise<Uint8Array> => {
  const document = await PDFDocument.load(good, { updateMetadata: false });
  const { context, catalog } = document;
  change(context, catalog, document.getPage(0).node, context.lookup(context.trailerInfo.Info, PDFDict));
  const bytes = await PDFWriter.forContext(context, Infinity).serializeToBuffer();
  bytes.set(good.subarray(0, 8));
  return bytes;
};

const n = PDFName.of;
const xmpWith =
  (from: string, to: string): Change =>
  (context, catalog) => {
    const old = catalog.lookup(n("Metadata"));
    if (!(old instanceof PDFRawStream)) throw new Error("no XMP to spoil");
    const text = new TextDecoder().decode(old.getContents());
    if (!text.includes(from)) throw new Error(`nothing to spoil: ${from}`);
    const bytes = new TextEncoder().encode(text.replace(from, to));
    old.dict.set(n("Length"), context.obj(bytes.length));
    catalog.set(n("Metadata"), context.register(PDFRawStream.of(old.dict, bytes)));
  };
const intentOf = (catalog: PDFDict): PDFDict => catalog.lookup(n("OutputIntents"), PDFArray).lookup(0, PDFDict);
const anImage = (context: PDFContext): PDFDict => {
  for (const [, o] of context.enumerateIndirectObjects())
    if (o instanceof PDFRawStream && o.dict.get(n("Subtype")) === n("Image")) return o.dict;
  throw new Error("no image to spoil");
};
const separation = (context: PDFContext, name: string, alternate: string) =>
  context.obj([n("Separation"), n(name), n(alternate), context.obj({ FunctionType: 2, Domain: [0, 1], N: 1 })]);
const layers = (context: PDFContext, d: Record<string, PDFDict | string | PDFString | PDFArray>) => {
  const group = context.register(context.obj({ Type: "OCG", Name: PDFString.of("Fog") }));
  return context.obj({ OCGs: [group], D: { Name: PDFString.of("All"), BaseState: "ON", Order: [group], ...d } });
};

/** One mutant per letter, and the checker flags exactly that letter. */
const MUTANTS: Readonly<Record<string, Change>> = {
  b: (context) => {
    context.trailerInfo.ID = context.obj([]);
  },
  c: xmpWith("<pdfxid:GTS_PDFXVersion>PDF/X-4<", "<pdfxid:GTS_PDFXVersion>PDF/X-3<"),
  d: (_c, _k, _p, info) => info.set(n("Title"), PDFString.of("another")),
  e: (_c, _k, _p, info) => info.set(n("Trapped"), n("Unknown")),
  f: (_c, _k, _p, info) => info.set(n("GTS_PDFXVersion"), PDFString.of("PDF/X-1a:2003")),
  g: (_c, catalog) => intentOf(catalog).delete(n("OutputConditionIdentifier")),
  h: (context, catalog) => {
    const profile = intentOf(catalog).lookup(n("DestOutputProfile"));
    if (profile instanceof PDFRawStream) profile.dict.set(n("N"), context.obj(3));
  },
  i: (context) => anImage(context).set(n("ColorSpace"), n("DeviceRGB")),
  j: (context) => anImage(context).set(n("ColorSpace"), n("DeviceNoise")),
  k: (context) => {
    context.register(context.obj({ Type: "Font", Subtype: "Type1", BaseFont: "Helvetica" }));
  },
  l: (context) => {
    context.register(context.obj({ Type: "ExtGState", BM: "Glow" }));
  },
  m: (context, catalog) =>
    catalog.set(n("OpenAction"), context.obj({ S: "JavaScript", JS: PDFString.of("app.beep()") })),
  n: (context, _k, page) =>
    page
      .lookup(n("Resources"), PDFDict)
      .set(
        n("ColorSpace"),
        context.obj({ A: separation(context, "Gold", "DeviceCMYK"), B: separation(context, "Gold", "Lab") }),
      ),
  o: (context, _k, page) =>
    page
      .lookup(n("Resources"), PDFDict)
      .set(n("ColorSpace"), context.obj({ A: separation(context, "Gr#FCn", "DeviceCMYK") })),
  p: (context, catalog) =>
    catalog.set(n("OCProperties"), layers(context, { AS: context.obj([context.obj({ Event: "Print" })]) })),
  q: (context, catalog) => catalog.set(n("OCProperties"), layers(context, { BaseState: "OFF" })),
};

describe("the checklist of PDF/X-4 (source: see support/checklist.ts)", () => {
  it("finds nothing amiss in a print PDF", async () => {
    expect(await broken(good)).toBe("");
  });

  it("has a mutant for every letter", () => {
    expect(["a", ...Object.keys(MUTANTS)]).toEqual(LETTERS);
  });

  it("a: another version in the header is found", async () => {
    const other = Uint8Array.from(good);
    other.set(Buffer.from("%PDF-1.7"));
    expect(await broken(other)).toBe("a");
  });

  it.each(Object.entries(MUTANTS))("%s: its mutant is found, and nothing else", async (letter, change) => {
    expect(await broken(await spoiled(change))).toBe(letter);
  });

  it("says nothing of PDF/X without a printing condition", async () => {
    const bytes = await writePrint(await harbourSheet(), { title: "none", profile: null });
    expect(Buffer.from(bytes).includes("GTS_PDFX")).toBe(false);
  });
});
