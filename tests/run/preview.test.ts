// One piece as it looks when cut, and every finding at its place.
import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { besideFile, kitsIn, openPreviews, type Previews } from "@kitforme/run";
import sharp from "sharp";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { card, named, pieceForm, SHOP, shelf } from "../support/shelf.ts";

const at = (path: string): string => fileURLToPath(new URL(`../../fixtures/${path}`, import.meta.url));
const DEMO_SHOP = { file: "shop.json", text: readFileSync(at("demo/shop.json"), "utf8") };

const pixelsOf = async (png: Uint8Array | undefined) => {
  if (!png) throw new Error("no picture");
  const { data, info } = await sharp(png).raw().toBuffer({ resolveWithObject: true });
  expect(info.channels).toBe(4);
  return {
    ...info,
    at: (x: number, y: number) => [...data.subarray(4 * (y * info.width + x), 4 * (y * info.width + x) + 4)],
  };
};
/** Pixel of a point in millimetres of a piece whose own corner is 0,0, at 150 to the inch with 1.5 mm around. */
const px = (mm: number): number => Math.round(((mm + 1.5) * 150) / 25.4);

describe("a preview", { timeout: 180_000 }, () => {
  const name = {
    slot: "name",
    box: [6, 12, 48, 14],
    size: 20,
    leastSize: 8,
    safe: 2,
    colour: "#ffffff",
    required: true,
  };
  const turned = { slot: "side", box: [50, 4, 8, 32], size: 14, leastSize: 6, safe: 1, turn: 90, colour: "#ffffff" };
  const other = { slot: "elsewhere", box: [6, 6, 20, 10], size: 12, leastSize: 8, safe: 1 };
  const kits = shelf({
    tag: {
      "kit.json": {
        kit: "tag",
        pieces: [pieceForm("tag", { slots: [name, turned] }), pieceForm("back", { slots: [other] }), pieceForm("bad")],
      },
      "tag.svg": card(60, 40),
      "back.svg": card(60, 40),
      "bad.svg": card(60, 40).replace("Z", ""),
    },
  });
  let previews: Previews;
  beforeAll(async () => {
    const { value, findings } = await openPreviews({ shop: named("shop.json", SHOP), kits, kit: "tag" });
    if (!value) throw new Error(JSON.stringify(findings));
    previews = value;
  }, 180_000);
  afterAll(() => previews.close());

  it("shows artwork inside of the cut and nothing outside", async () => {
    const { png, findings } = await previews.preview("tag", { name: "Aino" });
    expect(findings.filter((f) => f.level === "error")).toEqual([]);
    const image = await pixelsOf(png);
    expect([image.width, image.height]).toEqual([Math.round((63 * 150) / 25.4), Math.round((43 * 150) / 25.4)]);
    expect(image.at(px(-0.8), px(20))[3]).toBe(0);
    expect(image.at(px(60.8), px(20))[3]).toBe(0);
    const [r = 0, g = 0, b = 0, a] = image.at(px(3), px(3));
    expect(a).toBe(255);
    // #2f7f8a by way of the press's inks and back.
    expect(Math.abs(r - 0x2f)).toBeLessThan(40);
    expect(Math.abs(g - 0x7f)).toBeLessThan(25);
    expect(Math.abs(b - 0x8a)).toBeLessThan(25);
  });

  it("shows the copy's words where the print has them, turned ones too", async () => {
    const plain = await pixelsOf((await previews.preview("tag", {})).png);
    const worded = await pixelsOf((await previews.preview("tag", { name: "HHHH", side: "HHHHHH" })).png);
    const changed: { x: number; y: number }[] = [];
    for (let y = 0; y < plain.height; y++)
      for (let x = 0; x < plain.width; x++)
        if (worded.at(x, y).some((v, i) => Math.abs(v - (plain.at(x, y)[i] as number)) > 60)) changed.push({ x, y });
    const inside = (box: readonly number[]) => {
      const [x = 0, y = 0, width = 0, height = 0] = box;
      return changed.filter((p) => p.x >= px(x) && p.x <= px(x + width) && p.y >= px(y) && p.y <= px(y + height));
    };
    const [upright, sideways] = [inside(name.box), inside(turned.box)];
    expect(upright.length).toBeGreaterThan(200);
    expect(sideways.length).toBeGreaterThan(200);
    const outside = changed.filter((p) => !upright.includes(p) && !sideways.includes(p));
    expect(outside).toEqual([]);
    const spread = (points: typeof changed, axis: "x" | "y") =>
      Math.max(...points.map((p) => p[axis])) - Math.min(...points.map((p) => p[axis]));
    expect(spread(upright, "x")).toBeGreaterThan(spread(upright, "y"));
    expect(spread(sideways, "y")).toBeGreaterThan(2 * spread(sideways, "x"));
    // White letters: the ink of the slot on the screen is paper.
    expect(Math.max(...changed.map(({ x, y }) => Math.min(...worded.at(x, y))))).toBeGreaterThan(240);
  });

  it("is the same twice, byte for byte", async () => {
    const first = await previews.preview("tag", { name: "Åse" });
    const second = await previews.preview("tag", { name: "Åse" });
    expect(Buffer.compare(first.png as Uint8Array, second.png as Uint8Array)).toBe(0);
    const anew = await openPreviews({ shop: named("shop.json", SHOP), kits, kit: "tag" });
    const third = await anew.value?.preview("tag", { name: "Åse" });
    await anew.value?.close();
    expect(Buffer.compare(first.png as Uint8Array, third?.png as Uint8Array)).toBe(0);
  });

  it("shows what is sound of a copy and tells the rest", async () => {
    const long = await previews.preview("tag", { name: "W".repeat(90), side: "Aino", elsewhere: "x", nowhere: "y" });
    expect(long.findings.map((f) => [f.rule, f.where.slot])).toEqual([
      ["text-too-long", "name"],
      ["slot-unknown", "nowhere"],
    ]);
    expect(long.findings[1]?.where).toEqual({ kit: "tag", piece: "tag", slot: "nowhere" });
    const without = await pixelsOf((await previews.preview("tag", {})).png);
    const worded = await pixelsOf(long.png);
    expect(worded.at(px(30), px(19))).toEqual(without.at(px(30), px(19)));
    const missing = await previews.preview("tag", {});
    expect(missing.findings.map((f) => f.rule)).toEqual(["slot-without-text"]);
    expect((await previews.preview("tag", ["Aino"])).findings.map((f) => f.rule)).toContain("copy-unreadable");
    expect((await previews.preview("tag", { name: 7 })).findings.map((f) => f.rule)).toContain("copy-unreadable");
  });

  it("says which pieces there are, and what is wrong with one that cannot be shown", async () => {
    expect(previews.pieces.map((p) => p.piece)).toEqual(["tag", "back"]);
    const gone = await previews.preview("lid");
    expect(gone.png).toBeUndefined();
    expect(gone.findings).toMatchObject([{ rule: "preview-no-piece" }]);
    const bad = await previews.preview("bad");
    expect(bad.png).toBeUndefined();
    expect(bad.findings.map((f) => f.rule)).toContain("preview-piece-at-fault");
    expect(bad.findings.length).toBeGreaterThan(1);
    const nobody = await openPreviews({ shop: named("shop.json", SHOP), kits, kit: "tog" });
    expect(nobody.value).toBeUndefined();
    expect(nobody.findings).toMatchObject([{ rule: "preview-no-kit", hint: 'Kits on hand: "tag".' }]);
  });

  it("says whether a name fits, in which size, and why not", async () => {
    const short = await previews.fits("tag", "name", "Aino");
    expect(short).toMatchObject({ fits: true, size: 20, findings: [] });
    const longer = await previews.fits("tag", "name", "Aino and Solveig at sea");
    expect(longer.fits).toBe(true);
    expect(longer.size).toBeLessThan(20);
    expect(longer.size).toBeGreaterThanOrEqual(8);
    const long = await previews.fits("tag", "name", "W".repeat(90));
    expect(long).toMatchObject({ fits: false, findings: [{ rule: "text-too-long", where: { slot: "name" } }] });
    expect(long.size).toBeUndefined();
    expect(await previews.fits("tag", "name", " ")).toMatchObject({
      fits: false,
      findings: [{ rule: "slot-without-text" }],
    });
    expect(await previews.fits("tag", "side", "")).toMatchObject({ fits: true, findings: [] });
    expect(await previews.fits("tag", "lid", "x")).toMatchObject({
      fits: false,
      findings: [{ rule: "preview-no-slot" }],
    });
  });
});

describe("a preview of every form of slot", { timeout: 180_000 }, () => {
  it("has pictures of buyers, codes and the copy's number", async () => {
    const order = at("kits/slots/order/order.json");
    const { lines } = JSON.parse(readFileSync(order, "utf8")) as { lines: { texts: object[] }[] };
    const { value } = await openPreviews({ shop: DEMO_SHOP, kits: kitsIn(at("kits")), kit: "slots" });
    if (!value) throw new Error("the kit cannot be read");
    try {
      const plain = await pixelsOf((await value.preview("panel", {})).png);
      const both = await Promise.all([1, 2].map(() => value.preview("panel", lines[0]?.texts[0], besideFile(order))));
      const [first, second] = both;
      expect(first?.findings.filter((f) => f.level === "error")).toEqual([]);
      expect(Buffer.compare(first?.png as Uint8Array, second?.png as Uint8Array)).toBe(0);
      const full = await pixelsOf(first?.png);
      // The red sail of the buyer's picture, as in the print (tests/run/slots.test.ts).
      const [red = 0, green = 0, blue = 0] = full.at(px(145), px(28));
      expect(red).toBeGreaterThan(green + 60);
      expect(red).toBeGreaterThan(blue + 60);
      expect(plain.at(px(145), px(28))).not.toEqual(full.at(px(145), px(28)));
      const unread = await value.preview("panel", lines[0]?.texts[0]);
      expect(unread.findings.map((f) => f.rule)).toContain("picture-missing");
    } finally {
      await value.close();
    }
  });
});

describe("speed", { timeout: 300_000 }, () => {
  // 150 ms and 20 ms are promised for a machine that has a core to itself; counted is this process's time on a processor, so that
  // a loaded machine does not fail it. The setting process has its own 3 to 12 ms beside.
  it("a copy of a demo piece takes less than 150 ms, a question whether a name fits less than 20 ms", async () => {
    for (const [kit, piece] of [
      ["pilot-boat", "hull"],
      ["keepsake", "card"],
    ] as const) {
      const { value } = await openPreviews({ shop: DEMO_SHOP, kits: kitsIn(at("demo/kits")), kit });
      if (!value) throw new Error(`${kit} cannot be read`);
      const { slots } = value.pieces.find((p) => p.piece === piece) ?? { slots: [] };
      const words = Object.fromEntries(slots.map((slot) => [slot, "Solveig"]));
      await value.preview(piece, words);
      expect(await spent(5, () => value.preview(piece, words)), `${kit} ${piece}`).toBeLessThan(150);
      for (const slot of slots)
        expect(await spent(10, (i) => value.fits(piece, slot, `Solveig ${i}`)), `${kit} ${slot}`).toBeLessThan(20);
      await value.close();
    }
  });

  const spent = async (times: number, work: (i: number) => Promise<unknown>): Promise<number> => {
    const before = process.cpuUsage();
    for (let i = 0; i < times; i++) await work(i);
    const { user, system } = process.cpuUsage(before);
    return (user + system) / 1000 / times;
  };
});

describe("flaws", { timeout: 180_000 }, () => {
  const flawed = () =>
    openPreviews({
      shop: named("shop.json", SHOP),
      kits: shelf({
        tag: {
          "kit.json": {
            kit: "tag",
            pieces: [
              pieceForm("tag", { slots: [{ slot: "name", box: [50, 10, 30, 10], size: 20, safe: 2, shape: "#no" }] }),
              pieceForm("clean"),
              pieceForm("gone", { drawing: "gone.svg" }),
              pieceForm("open", { drawing: "open.svg" }),
            ],
          },
          "tag.svg": card(60, 40).replace("H0Z", "H0ZM20 20h1v1h-1zM30 20h1v1h-1z"),
          "clean.svg": card(60, 40),
          "open.svg": card(60, 40).replace("Z", ""),
        },
      }),
      kit: "tag",
    });

  it("stand at their places with their numbers, and all of them in one page", async () => {
    const { value } = await flawed();
    if (!value) throw new Error("nothing was read");
    try {
      const { html, pictures, findings } = await value.flaws();
      const page = new TextDecoder().decode(html);
      for (const [i, { message }] of findings.entries()) {
        expect(page).toContain(`<div class="number">${i + 1}</div>`);
        const start = message.slice(0, 20).replace(/["'&<>].*/, "");
        expect(page).toContain(start);
      }
      expect(page).toContain("The piece could not be drawn.");
      expect(page).toMatch(/Pieces without findings<\/h2>\n<p>clean<\/p>/);
      expect(page).not.toMatch(/https?:|<script|src="(?!data:)/);
      expect(pictures.map((p) => p.piece)).toContain("tag");
      expect(pictures.map((p) => p.piece)).not.toContain("clean");
      // A disc in the finding's colour stands near the point it is about.
      const spot = findings.find((f) => f.where.piece === "tag" && f.where.at);
      expect(spot).toBeDefined();
      const again = await value.flaws();
      expect(Buffer.compare(html, again.html)).toBe(0);
      const one = await value.flaws("open");
      expect(new TextDecoder().decode(one.html)).not.toContain("<h2>tag</h2>");
    } finally {
      await value.close();
    }
  });
});
