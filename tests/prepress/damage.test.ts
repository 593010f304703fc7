// Damaged files never print: see damage-run.ts. `npm run test:damage` makes the long form and prints its table.
import { readFileSync, readdirSync } from "node:fs";
import { deflateSync } from "node:zlib";
import { prepare } from "@kitforme/prepress";
import { PDFName } from "pdf-lib";
import sharp from "sharp";
import { describe, expect, it } from "vitest";
import { file, page, piece, press, PT } from "./artwork-samples.ts";
import { damageRun, type Format, type Tally } from "./damage-run.ts";

const long = process.env["KITFORME_DAMAGE"] === "long";
const demo = new URL("../../fixtures/demo/kits/", import.meta.url);
const read = (path: string): Uint8Array => Uint8Array.from(readFileSync(new URL(path, demo)));
/** The largest drawing of the demo. */
const drawing = (): Uint8Array => {
  const all = readdirSync(new URL("harbour-lantern/", demo)).filter((name) => name.endsWith(".svg"));
  return all.map((name) => read(`harbour-lantern/${name}`)).sort((a, b) => b.length - a.length)[0] as Uint8Array;
};
const FILES: readonly (readonly [Format, () => Uint8Array])[] = [
  ["jpeg", () => read("keepsake/card.jpg")],
  ["png", () => read("pilot-boat/deck.png")],
  ["tiff", () => read("keepsake/panel.tif")],
  ["pdf", () => read("pilot-boat/sail.pdf")],
  ["svg", drawing],
];

/** What can be seen is reported: nothing is silent but where the format has no redundancy. */
const judge = (format: Format, { cut, hit }: { readonly cut: Tally; readonly hit: Tally }): void => {
  expect(cut.silent).toBe(0);
  expect(cut.found).toBeGreaterThan(cut.same);
  expect([...hit.parts.keys()].filter((part) => !part.startsWith("values of"))).toEqual([]);
  if (format === "png") expect(hit.silent).toBe(0);
};

const row = (format: string, { same, found, silent, parts }: Tally): string =>
  `${format}: ${same} the same, ${found} found, ${silent} another file (${[...parts].map(([part, n]) => `${n} ${part}`).join(", ")})`;

describe("the demo's artwork, damaged", () => {
  it.each(FILES)(
    "%s: is the same, or found; else another file of its kind",
    async (format, bytes) => {
      const run = await damageRun(format, bytes(), long ? { cuts: 200, hits: 2000 } : { cuts: 12, hits: 40 });
      if (long) console.log(`${row(`${format} cut`, run.cut)}\n${row(`${format} hit`, run.hit)}`);
      judge(format, run);
    },
    3_600_000,
  );

  // The back goes the way of the front; as its reader sees it, so that what is passed through untouched is seen too.
  it.each(long ? FILES : FILES.filter(([format]) => format === "jpeg"))(
    "%s on the back: likewise",
    async (format, bytes) => {
      const run = await damageRun(format, bytes(), {
        side: "back",
        ...(long ? { cuts: 60, hits: 300 } : { cuts: 4, hits: 8 }),
      });
      if (long) console.log(`back ${row(`${format} cut`, run.cut)}\nback ${row(`${format} hit`, run.hit)}`);
      judge(format, run);
    },
    3_600_000,
  );
});

const cmyk = press();
const limits = { resolution: { refuse: 1, warn: 2 } };
const faultsOf = async (format: Format, bytes: Uint8Array): Promise<string[]> =>
  (await prepare(piece(file(format, bytes)), cmyk, limits)).findings
    .filter(({ level }) => level === "error")
    .map(({ rule, message }) => `${rule}: ${message}`);
const photo = (width = 300) =>
  sharp({
    create: {
      width,
      height: width,
      channels: 3,
      background: "#000",
      noise: { type: "gaussian", mean: 128, sigma: 30 },
    },
  });

describe("a JPEG", () => {
  it.each([
    ["baseline", {}],
    ["progressive", { progressive: true }],
    ["optimised", { mozjpeg: true }],
  ] as const)("with noise or a gap in its middle is an error: %s", async (_, options) => {
    const bytes = await photo().jpeg(options).toBuffer();
    expect(await faultsOf("jpeg", bytes)).toEqual([]);
    const middle = bytes.length >> 1;
    const noisy = Uint8Array.from(bytes);
    for (let i = 0; i < 64; i++) noisy[middle + i] = (i * 37) & 127;
    expect(await faultsOf("jpeg", noisy)).toHaveLength(1);
    const gap = Buffer.concat([bytes.subarray(0, middle), bytes.subarray(middle + 500)]);
    const found = await faultsOf("jpeg", gap);
    expect(found).toHaveLength(1);
    expect(found[0]).toMatch(/artwork-unreadable: .*\(at byte \d+\)/);
    // An end marker behind a file that was cut off hides nothing.
    expect(await faultsOf("jpeg", Buffer.concat([bytes.subarray(0, middle), Buffer.from([0xff, 0xd9])]))).toHaveLength(
      1,
    );
  });
});

describe("a PNG", () => {
  it("with a wrong check sum is an error, of side chunks too", async () => {
    const bytes = await photo().withIccProfile("p3").png().toBuffer();
    const at = bytes.indexOf("iCCP") + 40;
    const changed = Uint8Array.from(bytes);
    changed[at] = (changed[at] as number) ^ 1;
    expect((await faultsOf("png", changed))[0]).toContain('check sum of chunk "iCCP"');
  });
});

describe("a TIFF", () => {
  it.each(["deflate", "lzw", "packbits", "none"] as const)(
    "whose last strip is short is an error: %s",
    async (compression) => {
      const bytes = await photo().tiff({ compression }).toBuffer();
      expect(await faultsOf("tiff", bytes)).toEqual([]);
      expect(await faultsOf("tiff", bytes.subarray(0, bytes.length - 500))).toHaveLength(1);
    },
  );
});

describe("a PDF", () => {
  const all = `${PT(0)} ${PT(0)} ${PT(20)} ${PT(20)} re f`;
  const picture = (data: Uint8Array, entries: Readonly<Record<string, unknown>>) =>
    page(`${PT(20)} 0 0 ${PT(20)} 0 0 cm /I Do`, {}, {}, (document) => {
      const { context } = document;
      const image = context.stream(data, { Type: "XObject", Subtype: "Image", ...entries } as never);
      document
        .getPage(0)
        .node.Resources()
        ?.set(PDFName.of("XObject"), context.obj({ I: context.register(image) }));
    });

  it("whose content ends within something is an error", async () => {
    expect((await faultsOf("pdf", await page(`1 0 0 0 k ${all} (never ends`)))[0]).toContain(
      "cannot be read to the end",
    );
  });

  it("that draws what is not there is an error", async () => {
    expect((await faultsOf("pdf", await page(`1 0 0 0 k ${all} /Gone Do`)))[0]).toContain("/Gone");
  });

  it("that ends before its end, or whose objects have moved, is an error", async () => {
    const bytes = await page(`1 0 0 0 k ${all}`);
    expect(await faultsOf("pdf", bytes.subarray(0, bytes.length - 3))).toHaveLength(1);
    const text = Buffer.from(bytes).toString("latin1");
    expect(await faultsOf("pdf", Buffer.from(text.replace("\n3 0 obj", "\n%%%%%%\n3 0 obj"), "latin1"))).toHaveLength(
      1,
    );
  });

  it("with a picture cut short is an error: raw, deflated, JPEG", async () => {
    const size = { Width: 60, Height: 60, ColorSpace: "DeviceRGB", BitsPerComponent: 8 };
    const raw = Buffer.alloc(60 * 60 * 3, 90);
    const jpeg = await photo(60).jpeg().toBuffer();
    const kinds = [
      [raw, size],
      [deflateSync(raw), { ...size, Filter: "FlateDecode" }],
      [jpeg, { ...size, Filter: "DCTDecode" }],
    ] as const;
    for (const [data, entries] of kinds) {
      expect(await faultsOf("pdf", await picture(data, entries))).toEqual([]);
      const short = data.subarray(0, data.length - 12);
      expect(await faultsOf("pdf", await picture(short, entries))).toHaveLength(1);
    }
    const wrong = Uint8Array.from(deflateSync(raw));
    wrong[wrong.length - 1] = (wrong[wrong.length - 1] as number) ^ 1;
    expect(await faultsOf("pdf", await picture(wrong, { ...size, Filter: "FlateDecode" }))).toHaveLength(1);
  });
});
