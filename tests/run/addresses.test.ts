import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { readShop } from "@kitforme/kit";
import { writeSlips } from "@kitforme/papers";
import { Openers, profilesBeside } from "@kitforme/run";
import sharp from "sharp";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { readAll } from "../../packages/run/src/read-all.ts";
import { setAddresses } from "../../packages/run/src/set-addresses.ts";
import { harbourJob } from "../support/jobs.ts";
import { oracle } from "../support/promised.ts";
import { card, named, pieceForm, SHOP, shelf } from "../support/shelf.ts";

const font = (file: string): Uint8Array => readFileSync(new URL(`../../fixtures/fonts/${file}`, import.meta.url));
const root = mkdtempSync(join(tmpdir(), "kitforme-addresses-"));
/** Latin and Greek are the papers' own, Arabic is the shop's, Hebrew the kit's; nobody here has Thai. */
const TO = ["Sæbjørg Ελένη &amp; M.", "شارع الميناء ١٢", "רחוב הנמל 7", "ท่าเรือ 5"];

const kits = shelf({
  box: {
    "kit.json": {
      kit: "box",
      pieces: [
        pieceForm("tag", { slots: [{ slot: "boat", box: [8, 8, 44, 14], size: 12, font: "fonts/hebrew.ttf" }] }),
      ],
    },
    "tag.svg": card(60, 30),
    "fonts/hebrew.ttf": font("Assistant-Regular.ttf"),
  },
});
const shop = {
  ...named("shop.json", { ...SHOP, fonts: ["fonts/arabic.ttf"] }),
  read: (path: string) => Promise.resolve(path === "fonts/arabic.ttf" ? font("NotoSansArabic-Regular.ttf") : undefined),
};
const order = { order: "HL-2041", to: TO, lines: [{ kit: "box", quantity: 1 }] };

const openers = new Openers();
let set: Awaited<ReturnType<typeof setAddresses>>;
beforeAll(async () => {
  const read = await readAll({ shop, orders: [named("a.json", order)] }, kits, { effort: "none" }, { openers });
  expect(read.findings.filter(({ level }) => level === "error")).toEqual([]);
  if (!read.value) throw new Error("the commission was not read");
  set = await setAddresses(read.value.orders, read.value.kits, read.value.shop, { openers });
}, 60_000);
afterAll(async () => {
  await openers.close();
  rmSync(root, { recursive: true, force: true });
});

describe("addresses beyond the papers' own letters", () => {
  it("are set in the shop's fonts, else in those of the ordered kits; what none has is warned of, letter by letter", () => {
    const lines = set.addresses.get("HL-2041");
    expect([...(lines?.keys() ?? [])]).toEqual([1, 2]);
    for (const line of lines?.values() ?? []) expect(line.size).toBe(11);
    expect(set.findings).toEqual([
      expect.objectContaining({
        level: "warning",
        rule: "address-encoded",
        where: { order: "HL-2041", field: "to" },
        message: expect.stringContaining('"&amp;"'),
      }),
      expect.objectContaining({ level: "warning", rule: "address-letters", where: { order: "HL-2041", field: "to" } }),
    ]);
    expect(set.findings[1]?.message).toMatch(/"ท่".*"เ"|"ท/);
    expect(set.findings[1]?.message).not.toMatch(/[\u0590-\u06ff]/);
  });

  it.runIf(oracle("pdftoppm"))("stand on the slip where they were � (rendered by poppler)", async () => {
    const job = await harbourJob();
    const orders = job.orders.map((o) => (o.order === "HL-2041" ? { ...o, to: TO.slice(0, 3) } : o));
    const drawn = async (name: string, addresses: typeof set.addresses) => {
      const pdf = join(root, `${name}.pdf`);
      writeFileSync(pdf, (await writeSlips({ ...job, orders, addresses })) ?? "");
      const args = ["-r", "150", "-gray", "-png", "-f", "1", "-l", "1", pdf];
      return sharp(execFileSync("pdftoppm", args, { maxBuffer: 1 << 26 }));
    };
    const inks: number[] = [];
    for (const page of [await drawn("set", set.addresses), await drawn("plain", new Map())]) {
      const { data, info } = await page.toColourspace("b-w").raw().toBuffer({ resolveWithObject: true });
      // Under "Due": the rows of the two lines, from the left margin on.
      const mm = info.width / 210;
      let dark = 0;
      for (let y = Math.round(38 * mm); y < 50 * mm; y++)
        for (let x = Math.round(13 * mm); x < 80 * mm; x++) if ((data[y * info.width + x] ?? 255) < 128) dark++;
      inks.push(dark);
    }
    const [letters = 0, blanks = 0] = inks;
    expect(blanks).toBeGreaterThan(0);
    expect(letters).toBeGreaterThan(300);
    expect(letters).not.toBe(blanks);
  });

  it("want the shop's fonts beside its file: one that is missing, or lies outside, is an error with its place", async () => {
    const text = JSON.stringify({ ...SHOP, fonts: ["fonts/none.otf", "../out.otf"] });
    const beside = await profilesBeside({ text, read: shop.read });
    expect(Object.keys(beside)).toEqual([]);
    const { value, findings } = readShop(text, beside);
    expect(value).toBeUndefined();
    expect(findings.map(({ rule, where }) => [rule, where.field])).toEqual([
      ["shop-font-missing", "fonts.0"],
      ["shop-font-missing", "fonts.1"],
    ]);
    expect(Object.keys(await profilesBeside(shop))).toEqual(["fonts/arabic.ttf"]);
  });
});
