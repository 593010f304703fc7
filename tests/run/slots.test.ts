// Every form of slot, from an order to the press sheet: printed, read back, and faults with the copy they are of.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { fileURLToPath } from "node:url";
import { besideFile, check, inMemory, kitsIn, run } from "@kitforme/run";
import { renderPage } from "@kitforme/prepress";
import { beforeAll, describe, expect, it } from "vitest";
import { prepareZXingModule, readBarcodes } from "zxing-wasm/reader";
import { card, named, pieceForm, SHOP, shelf } from "../support/shelf.ts";

const KITS = fileURLToPath(new URL("../../fixtures/kits", import.meta.url));
const ORDER = `${KITS}/slots/order/order.json`;
const order = { file: ORDER, text: readFileSync(ORDER, "utf8"), read: besideFile(ORDER) };
const cutter = { ...SHOP.cutters.flatbed, tools: { cutting: { pen: 1 }, creasing: { pen: 2 } } };
const shop = named("shop.json", {
  ...SHOP,
  presses: { digital: { ...SHOP.presses.digital, resolution: 300 } },
  cutters: { flatbed: cutter },
});

beforeAll(async () => {
  const wasm = createRequire(import.meta.url).resolve("zxing-wasm/reader/zxing_reader.wasm");
  const wasmBinary = new Uint8Array(readFileSync(wasm)).buffer;
  await prepareZXingModule({ overrides: { wasmBinary }, fireImmediately: true });
});

/** A job's first sheet as its print PDF shows it at 200 pixels per inch. */
const print = async () => {
  const out = inMemory();
  const { job, findings } = await run(
    { shop, orders: [order] },
    { kits: kitsIn(KITS), out: () => out },
    { effort: "quick", threads: 1 },
  );
  const pdf = out.files.get("sheet-001.print.pdf");
  if (!job || !pdf) throw new Error(JSON.stringify(findings));
  const pixels = (um: number): number => Math.round((um * 200) / 25_400);
  const sheet = job.sheets[0]?.sheet;
  if (!sheet) throw new Error("no sheet");
  const page = await renderPage(pdf, 0, { width: pixels(sheet.width), height: pixels(sheet.height) });
  return { job, sheet, findings, page, pixels };
};

let made: ReturnType<typeof print> | undefined;
const printed = () => (made ??= print());

describe("slots in their new forms", { timeout: 180_000 }, () => {
  it("print: codes are read, pictures show, numbers run on, and every copy is placed", async () => {
    const { sheet, findings, page, pixels } = await printed();
    expect(findings.filter((f) => f.level === "error")).toEqual([]);
    expect(sheet.placed).toHaveLength(2);
    const image = { ...page, data: new Uint8ClampedArray(page.data), colorSpace: "srgb" as const };
    const found = await readBarcodes(image as Parameters<typeof readBarcodes>[0], { tryHarder: true, tryRotate: true });
    const texts = found.map((code) => `${code.format} ${code.text}`).sort();
    expect(texts).toContain("DataMatrix SLOTS-Łódź");
    expect(texts).toContain("DataMatrix SLOTS-Åse");
    expect(texts.filter((text) => text === "QRCode https://example.org/kits/slots?copy=Łódź-7")).toHaveLength(2);

    for (const placed of sheet.placed) {
      expect(placed.wording["number"]).toMatch(/^004[12]$/);
      expect(placed.texts.map((t) => t.slot)).toEqual([
        "name",
        "verse",
        "address",
        "spine",
        "stamp",
        "number",
        "link",
        "tag",
        "foot",
      ]);
      const [a, b, c, d, e, f] = placed.matrix;
      const colourAt = (x: number, y: number): number[] => {
        const [sx, sy] = [(a * x + c * y) * 1000 + e, (b * x + d * y) * 1000 + f];
        const at = 4 * (pixels(sheet.height - sy) * page.width + pixels(sx));
        return [...page.data.subarray(at, at + 3)];
      };
      // The red sail of the buyer's picture inside its round frame; outside of it the panel.
      const [red = 0, green = 0, blue = 0] = colourAt(145, 28);
      expect(red).toBeGreaterThan(green + 60);
      expect(red).toBeGreaterThan(blue + 60);
      const corner = colourAt(121.5, 9.5);
      expect(Math.min(...corner)).toBeGreaterThan(150);
    }
    expect(new Set(sheet.placed.map((p) => p.wording["number"]))).toEqual(new Set(["0041", "0042"]));
  });

  it("keep off every line: no point of a text is nearer than its slot allows, turned or not", async () => {
    const { sheet } = await printed();
    const texts = sheet.placed[0]?.texts ?? [];
    const box = (slot: string) => texts.find((t) => t.slot === slot)?.box;
    // The spine reads upward: higher than wide, inside its box.
    const spine = box("spine");
    expect(spine && spine.height > 3 * spine.width).toBe(true);
    for (const { box: b } of texts) {
      expect(b.x).toBeGreaterThanOrEqual(2000);
      expect(b.x + b.width).toBeLessThanOrEqual(158_000);
    }
    const address = box("address");
    // At the top of its box, on the right.
    expect(address && Math.abs(address.x + address.width - 68_000)).toBeLessThan(400);
    expect(address && address.y - 52_000).toBeLessThan(2500);
  });
});

describe("faults of slots", { timeout: 180_000 }, () => {
  const slot = (more: object) => ({ slot: "name", box: [6, 12, 48, 14], size: 20, leastSize: 20, safe: 2, ...more });
  const checkOf = (
    slots: readonly object[],
    texts: readonly object[],
    read?: (path: string) => Promise<Uint8Array | undefined>,
  ) =>
    check(
      {
        shop,
        orders: [
          {
            ...named("o.json", { order: "O-1", lines: [{ kit: "tag", quantity: texts.length, texts }] }),
            ...(read ? { read } : {}),
          },
        ],
      },
      shelf({ tag: { "kit.json": { kit: "tag", pieces: [pieceForm("tag", { slots })] }, "tag.svg": card(60, 40) } }),
    );

  it("come all in one answer, with the copy's number", async () => {
    const { findings } = await checkOf([slot({})], [{ name: "ok" }, { name: `${"W".repeat(40)}\u{1F600}` }]);
    expect(findings.map((f) => f.rule).sort()).toEqual(["glyph-missing", "text-too-long"]);
    for (const { where } of findings) expect(where).toMatchObject({ order: "O-1", line: 1, copy: 2, slot: "name" });
  });

  it("name a picture that is not there, one outside the order's folder, and one too coarse", async () => {
    const photo = { slot: "photo", picture: true, box: [10, 10, 30, 20] };
    const small = await import("sharp").then(({ default: sharp }) =>
      sharp({ create: { width: 60, height: 40, channels: 3, background: "#a03020" } })
        .png()
        .toBuffer(),
    );
    const read = (path: string) => Promise.resolve(path === "a.png" ? new Uint8Array(small) : undefined);
    const given = [{ photo: { file: "a.png" } }, { photo: { file: "no.png" } }];
    const { findings } = await checkOf([photo], given, read);
    expect(findings.map((f) => [f.rule, f.where.copy])).toEqual(
      expect.arrayContaining([
        ["picture-coarse", 1],
        ["picture-missing", 2],
      ]),
    );
    const outside = await checkOf([photo], [{ photo: { file: "../a.png" } }], read);
    expect(outside.findings.map((f) => f.rule)).toEqual(["picture-outside"]);
    const unreachable = await checkOf([photo], [{ photo: { file: "a.png" } }]);
    expect(unreachable.findings[0]?.message).toContain("without its folder");
    const wrong = await checkOf([photo], [{ photo: "a.png" }], read);
    expect(wrong.findings.map((f) => f.rule)).toEqual(["slot-other-kind"]);
    const cut = await checkOf([photo], [{ photo: { file: "a.png" } }], () =>
      Promise.resolve(new Uint8Array(small).slice(0, 90)),
    );
    expect(cut.findings.map((f) => f.rule)).toContain("picture-unreadable");
  });

  it("refuse codes too small to be read, and those too near a line", async () => {
    const code = (more: object) => ({ slot: "link", code: "qr", box: [10, 8, 24, 24], safe: 2, ...more });
    const link = (text: string) => [{ link: text }];
    expect((await checkOf([code({})], link("https://example.org"))).findings).toEqual([]);
    const tiny = await checkOf([code({ box: [10, 8, 6, 6] })], link("https://example.org"));
    expect(tiny.findings).toMatchObject([{ level: "error", rule: "code-too-small" }]);
    const near = await checkOf([code({ box: [0, 8, 24, 24], quiet: 0 })], link("https://example.org"));
    expect(near.findings.map((f) => f.rule)).toContain("code-near-line");
    const long = await checkOf([code({})], link("x".repeat(1999)));
    expect(long.findings.map((f) => f.rule)).toEqual(expect.arrayContaining(["code-too-small"]));
  });

  it("say which fields a slot does not read, and what cannot be two things at once", async () => {
    const { findings } = await checkOf(
      [slot({ quiet: 3 }), { slot: "both", picture: true, code: "qr", box: [10, 10, 20, 20] }],
      [{ name: "a", both: "" }],
    );
    expect(findings.map((f) => f.rule)).toEqual(expect.arrayContaining(["slot-field-idle", "slot-two-kinds"]));
  });
});
