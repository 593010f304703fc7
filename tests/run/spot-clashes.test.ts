// Spot inks of two kits that share a name: one can of ink on the press, one mixture a file (PDF/X-4, ISO 15930-7 as far as public).
import { PDFDocument, PDFName } from "pdf-lib";
import { describe, expect, it } from "vitest";
import { check } from "../support/openers.ts";
import { card, named, pieceForm, SHOP, shelf } from "../support/shelf.ts";

/** A page of 60 x 40 mm filled with one spot ink, mixed from CMYK. */
const page = async (spot: string, inks: readonly number[], packed = false): Promise<Uint8Array> => {
  const document = await PDFDocument.create();
  const { node } = document.addPage([170.0787, 113.3858]);
  const { context } = document;
  const tint = { FunctionType: 2, Domain: [0, 1], C0: [0, 0, 0, 0], C1: inks, N: 1 };
  // The same mixture as an object of its own says the same.
  const at = packed ? context.register(context.obj(tint as never)) : context.obj(tint as never);
  const space = context.obj([PDFName.of("Separation"), PDFName.of(spot), PDFName.of("DeviceCMYK"), at]);
  node.set(PDFName.of("Resources"), context.obj({ ColorSpace: context.obj({ S: space }) }));
  node.set(PDFName.of("Contents"), context.register(context.stream("/S cs 1 scn -9 -9 200 200 re f")));
  return document.save();
};

const kit = (name: string, artwork: Uint8Array, stock = "card") => ({
  "kit.json": { kit: name, pieces: [pieceForm("tag", { artwork: { file: "a.pdf", box: [0, 0, 60, 40] }, stock })] },
  "tag.svg": card(60, 40),
  "a.pdf": artwork,
});
const shop = named("shop.json", {
  ...SHOP,
  stocks: { ...SHOP.stocks, label: { title: "Label", sheet: [210, 297], press: "digital", cutter: "flatbed" } },
});
const order = named("o.json", {
  order: "S-1",
  lines: [
    { kit: "one", quantity: 1 },
    { kit: "two", quantity: 1 },
  ],
});
const clashes = async (two: Record<string, unknown>, on = shop) => {
  const store = shelf({ one: kit("one", await page("Harbour Blue", [1, 0.4, 0, 0.2])), two });
  const { findings } = await check({ shop: on, orders: [order] }, store);
  expect(findings.filter((f) => f.rule === "artwork-spots").length).toBeGreaterThan(0);
  return findings.filter((f) => f.rule === "spot-clash");
};

describe("spot inks of one name", () => {
  it("that two pieces of one stock mix differently are refused before anything is laid out, both named", async () => {
    const [clash, ...more] = await clashes(kit("two", await page("Harbour Blue", [0.9, 0.4, 0, 0.2])));
    expect(more).toEqual([]);
    expect(clash).toMatchObject({ level: "error", where: { kit: "two", piece: "tag" } });
    expect(clash?.message).toContain('"Harbour Blue" is mixed differently here than in piece "tag" of kit "one"');
  });

  it("go together all the same on a press that converts them, and it is reported", async () => {
    const { digital } = SHOP.presses;
    const converts = named("shop.json", { ...SHOP, presses: { digital: { ...digital, spots: "convert" } } });
    const store = shelf({
      one: kit("one", await page("Harbour Blue", [1, 0.4, 0, 0.2])),
      two: kit("two", await page("Harbour Blue", [0.9, 0.4, 0, 0.2])),
    });
    const { findings } = await check({ shop: converts, orders: [order] }, store);
    expect(findings.map(({ rule }) => rule)).not.toContain("spot-clash");
    const converted = findings.filter(({ rule }) => rule === "artwork-spots-converted");
    expect(converted.flatMap(({ where, places }) => places ?? [where]).map(({ kit: of }) => of)).toEqual([
      "one",
      "two",
    ]);
    expect(converted.every(({ level }) => level === "note")).toBe(true);
  });

  it("that are mixed alike go together, however the files write it down", async () => {
    expect(await clashes(kit("two", await page("Harbour Blue", [1, 0.4, 0, 0.2], true)))).toEqual([]);
  });

  it("do not clash with other names, nor on another stock", async () => {
    expect(await clashes(kit("two", await page("Harbour Red", [0, 1, 1, 0])))).toEqual([]);
    expect(await clashes(kit("two", await page("Harbour Blue", [0.9, 0.4, 0, 0.2]), "label"))).toEqual([]);
  });

  it("clash on two stocks whose sheets go into one print PDF, and on those of two presses do not", async () => {
    const two = async () => kit("two", await page("Harbour Blue", [0.9, 0.4, 0, 0.2]), "label");
    const { digital } = SHOP.presses;
    for (const files of ["whole", "both"]) {
      const presses = { digital: { ...digital, files }, second: { ...digital, files } };
      const stocks = { ...SHOP.stocks, label: { ...SHOP.stocks.card, title: "Label" } };
      const [clash, ...more] = await clashes(await two(), named("shop.json", { ...SHOP, stocks, presses }));
      expect(more).toEqual([]);
      expect(clash?.message).toContain('of kit "one", on stock "card" and in the same print PDF');
      const apart = { ...stocks, label: { ...stocks.label, press: "second" } };
      expect(await clashes(await two(), named("shop.json", { ...SHOP, stocks: apart, presses }))).toEqual([]);
    }
  });
});
