// `kitforme preview` as a user runs it, and its page in a real browser.
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";
import sharp from "sharp";
import { describe, expect, it } from "vitest";
import { CHROMIUM, FLAGS } from "../support/browser.ts";
import { hashes, kitforme, scratch } from "../support/command.ts";
import { oracle } from "../support/promised.ts";
import { card, pieceForm, SHOP } from "../support/shelf.ts";

/** A kit of a sound piece with a name, one with faults at their places, and one without a drawing. */
const tagKit = (root: string) => {
  const kit = join(root, "kits", "tag");
  mkdirSync(kit, { recursive: true });
  const slot = { slot: "name", box: [6, 12, 48, 14], size: 20, leastSize: 8, safe: 2, colour: "#ffffff" };
  const pieces = [pieceForm("tag", { slots: [slot] }), pieceForm("holes"), pieceForm("gone")];
  writeFileSync(join(kit, "kit.json"), JSON.stringify({ kit: "tag", pieces }));
  writeFileSync(join(kit, "tag.svg"), card(60, 40));
  writeFileSync(join(kit, "holes.svg"), card(90, 50).replace("H0Z", "H0ZM20 20h1v1h-1zM40 20h1v1h-1zM0.2 30h1v1h-1z"));
  const shop = join(root, "shop.json");
  writeFileSync(shop, JSON.stringify(SHOP));
  return ["preview", "--shop", shop, "--kits", join(root, "kits"), "--kit", "tag"];
};

describe("kitforme preview", { timeout: 240_000 }, () => {
  it("writes one piece with a copy's words, the same bytes twice", async () => {
    const root = scratch();
    const ask = [...tagKit(root), "--piece", "tag", "--copy", '{"name": "Åse"}', "--json"];
    const first = await kitforme([...ask, "--out", join(root, "a", "tag.png")]);
    expect(first.code).toBe(0);
    const second = await kitforme([...ask, "--out", join(root, "b", "tag.png")]);
    expect(second.events.at(-2)).toMatchObject({ event: "previewed", kit: "tag", ok: true });
    expect(readdirSync(join(root, "a"))).toEqual(["tag.png"]);
    expect(hashes(join(root, "a"))).toEqual(hashes(join(root, "b")));
    const { width, height, hasAlpha } = await sharp(readFileSync(join(root, "a", "tag.png"))).metadata();
    expect([width, height, hasAlpha]).toEqual([372, 254, true]);
  });

  it("shows what can be shown when words are at fault, and ends as input at fault", async () => {
    const root = scratch();
    const ask = tagKit(root);
    writeFileSync(join(root, "copy.json"), JSON.stringify({ name: "W".repeat(90) }));
    const out = join(root, "tag.png");
    const ended = await kitforme([...ask, "--piece", "tag", "--copy", join(root, "copy.json"), "--out", out]);
    expect(ended.code).toBe(1);
    expect(ended.err).toContain("text-too-long");
    expect(existsSync(out)).toBe(true);
    const no = await kitforme([...ask, "--piece", "tag", "--copy", "{", "--out", join(root, "no.png"), "--json"]);
    expect(no.events.map((e) => e["rule"]).filter(Boolean)).toEqual(["copy-no-json"]);
    expect(existsSync(join(root, "no.png"))).toBe(false);
    const lid = await kitforme([...ask, "--piece", "lid", "--out", join(root, "no.png")]);
    expect(lid.code).toBe(1);
    expect(lid.err).toContain("No picture was written");
  });

  it.runIf(existsSync(CHROMIUM) || oracle("chromium"))(
    "shows every finding on one page that a phone can read",
    async () => {
      const root = scratch();
      const made = await kitforme([...tagKit(root), "--flaws", "--out", join(root, "flaws.png"), "--json"]);
      const findings = made.events.filter((e) => e["event"] === "finding");
      expect(findings.length).toBeGreaterThan(1);
      expect(readdirSync(root).sort()).toEqual(["flaws-holes.png", "flaws.html", "kits", "shop.json"]);

      const browser = await chromium.launch({ executablePath: CHROMIUM, args: FLAGS });
      try {
        const context = await browser.newContext({ viewport: { width: 360, height: 740 }, isMobile: true });
        const page = await context.newPage();
        const asked: string[] = [];
        const said: string[] = [];
        page.on("request", (request) => asked.push(request.url()));
        page.on("console", (message) => said.push(message.text()));
        await page.goto(pathToFileURL(join(root, "flaws.html")).href);
        expect(asked.filter((url) => !url.startsWith("file:") && !url.startsWith("data:"))).toEqual([]);
        expect(said).toEqual([]);
        for (const [i, { message }] of findings.entries()) {
          const item = page
            .locator("li", { has: page.locator(".number", { hasText: new RegExp(`^${i + 1}$`) }) })
            .first();
          expect(await item.innerText()).toContain(String(message));
        }
        // Nothing is wider than the screen, type is of a size to be read, and the picture is really there.
        const seen = await page.evaluate(() => ({
          width: document.documentElement.scrollWidth,
          type: Number.parseFloat(getComputedStyle(document.querySelector("li p") as Element).fontSize),
          pictures: [...document.images].map((image) => [image.naturalWidth, image.getBoundingClientRect().width]),
        }));
        expect(seen.width).toBeLessThanOrEqual(360);
        expect(seen.type).toBeGreaterThanOrEqual(16);
        expect(seen.pictures).toHaveLength(1);
        for (const [natural = 0, shown = 0] of seen.pictures) {
          expect(natural).toBeGreaterThan(700);
          expect(shown).toBeGreaterThan(300);
        }
        const shot = process.env["KITFORME_SHOTS"];
        if (shot !== undefined) await page.screenshot({ path: shot, fullPage: true });
      } finally {
        await browser.close();
      }
    },
  );
});
