// `kitforme check` as a user runs it.
import { chmodSync, cpSync, mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { kitforme, scratch } from "../support/command.ts";
import { smallShop } from "../support/small-shop.ts";

const found = (events: readonly Record<string, unknown>[], event = "finding") =>
  events.filter((e) => e["event"] === event).map((e) => String(e["rule"]));

describe("kitforme check", () => {
  it("gives the cautions, in words and for machines", async () => {
    const { shop, kits } = smallShop(scratch());
    const ended = await kitforme(["check", "--shop", shop, join(kits, "tag"), "--json"]);
    expect(ended.code).toBe(0);
    expect(found(ended.events, "caution")).toEqual(["caution.cutter", "caution.small-parts", "caution.food"]);
    expect(ended.err).toContain("used blades into a sharps box");
    expect(ended.err).not.toMatch(/\bsafe\b|complian/i);
  });

  it("takes a folder of kits for all of them, and a kit named twice for one", async () => {
    const small = smallShop(scratch());
    cpSync(join(small.kits, "tag"), join(small.kits, "other"), { recursive: true });
    const all = await kitforme(["check", "--shop", small.shop, small.kits, "--json"]);
    expect(found(all.events)).toEqual(["kit-twice", "kit-folder"]);
    const twice = await kitforme(["check", "--shop", small.shop, "--kits", small.kits, `${small.kits}/tag/`, "--json"]);
    expect(found(twice.events)).toEqual(["kit-twice"]);
    const one = await kitforme(["check", "--shop", small.shop, join(small.kits, "tag"), `${small.kits}/../kits/tag`]);
    expect(one.code).toBe(0);
    expect(one.out).toContain("Checked 1 kit: ");
  });

  it("reads what it can when a file is missing, and says all that is wrong", async () => {
    const small = smallShop(scratch());
    const order = small.order("A", ["Aino"], { kit: "tog" });
    const ended = await kitforme(["check", "--shop", small.shop, "--kits", small.kits, "gone.json", order, "--json"]);
    expect(found(ended.events).sort()).toEqual(["file-unreadable", "kit-unknown"]);
    expect(ended.code).toBe(1);
  });

  it.skipIf(process.getuid?.() === 0)("names a file of a kit that may not be read, as the input's fault", async () => {
    const small = smallShop(scratch());
    chmodSync(join(small.kits, "tag/tag.svg"), 0);
    const ended = await kitforme(["check", "--shop", small.shop, join(small.kits, "tag"), "--json"]);
    expect([ended.code, ...found(ended.events)]).toEqual([1, "file-unreadable"]);
  });

  it("says of a job folder that is a file, or lies in one, that it cannot be written, before the work", async () => {
    const small = smallShop(scratch());
    const order = small.order("A", ["Aino"]);
    for (const out of [small.shop, join(small.shop, "deep/out")]) {
      const ended = await kitforme(["make", "--shop", small.shop, "--kits", small.kits, "--out", out, order, "--json"]);
      expect([ended.code, ...found(ended.events)]).toEqual([1, "folder-unwritable"]);
    }
  });

  it("finds fault with a folder of kits that is not there, and with a folder that is no kit", async () => {
    const small = smallShop(scratch());
    mkdirSync(join(small.root, "attic"));
    writeFileSync(join(small.root, "attic/tag.svg"), "");
    const order = small.order("A", ["Aino"]);
    const away = await kitforme(["check", "--shop", small.shop, "--kits", "nowhere", order, "--json"]);
    expect([away.code, ...found(away.events)]).toEqual([1, "file-unreadable"]);
    const attic = await kitforme(["check", "--shop", small.shop, join(small.root, "attic"), "--json"]);
    expect([attic.code, ...found(attic.events)]).toEqual([1, "kit-missing"]);
  });
});
