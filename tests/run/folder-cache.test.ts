// Prepared pieces kept from one run to the next: the same bytes with and without, bounded, and never trusted when damaged.
import { mkdtempSync, readdirSync, readFileSync, rmSync, utimesSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { FolderCache, inMemory, Openers, run } from "@kitforme/run";
import { describe, expect, it, onTestFinished } from "vitest";
import { card, named, pieceForm, SHOP, shelf } from "../support/shelf.ts";

const folder = (): string => {
  const made = mkdtempSync(join(tmpdir(), "kitforme-cache-"));
  onTestFinished(() => rmSync(made, { recursive: true, force: true }));
  return made;
};
const keyed = (n: number): string => n.toString(16).padStart(64, "0");
/** Bytes that do not pack. */
const noise = (n: number): Uint8Array =>
  Uint8Array.from({ length: 1_000 }, (_, i) => (((i * 7919 + n * 104_729) ** 2) >>> 7) & 255);
const sizeOf = (at: string): number =>
  readdirSync(at).reduce((sum, name) => sum + readFileSync(join(at, name)).length, 0);

describe("a cache in a folder", () => {
  it("gives back what was kept, to others too", async () => {
    const at = folder();
    await new FolderCache(at, 1e6).put(keyed(1), noise(1));
    const cache = new FolderCache(at, 1e6);
    expect(Buffer.from((await cache.get(keyed(1))) ?? [])).toEqual(Buffer.from(noise(1)));
    expect(await cache.get(keyed(2))).toBeUndefined();
    expect([cache.hits, cache.misses]).toEqual([1, 1]);
  });

  it("deletes the least recently used when it is full", async () => {
    const at = folder();
    const cache = new FolderCache(at, 6_000);
    for (let n = 0; n < 12; n++) {
      await cache.put(keyed(n), noise(n));
      for (const name of readdirSync(at)) {
        const age = name === keyed(0) ? 0 : 1_000 - Number.parseInt(name, 16);
        utimesSync(join(at, name), new Date(), new Date(Date.now() - age * 1_000));
      }
      expect(sizeOf(at)).toBeLessThanOrEqual(6_000);
    }
    // The first is used all along, the second never.
    expect(await cache.get(keyed(0))).toBeDefined();
    expect(await cache.get(keyed(1))).toBeUndefined();
    expect(await cache.get(keyed(11))).toBeDefined();
    await cache.put(keyed(99), new Uint8Array(Buffer.concat([noise(1), noise(2)])));
    expect(await cache.get(keyed(99)), "larger than a quarter").toBeUndefined();
  });

  it("asks the larger one behind it, and keeps what that has; one that is away is as good as none", async () => {
    const [at, other] = [folder(), folder()];
    const entries = new Map<string, Uint8Array>();
    const behind = {
      get: (key: string) => Promise.resolve(entries.get(key)),
      put: (key: string, entry: Uint8Array) => Promise.resolve(void entries.set(key, entry)),
    };
    await new FolderCache(at, 1e6, behind).put(keyed(1), noise(1));
    const cache = new FolderCache(other, 1e6, behind);
    for (const times of [1, 2]) {
      expect(Buffer.from((await cache.get(keyed(1))) ?? [])).toEqual(Buffer.from(noise(1)));
      expect(cache.hits).toBe(times);
      entries.clear();
    }
    entries.set(keyed(2), noise(2));
    expect(await cache.get(keyed(2)), "not whole").toBeUndefined();
    const away = () => Promise.reject(new Error("away"));
    const alone = new FolderCache(folder(), 1e6, { get: away, put: away });
    await alone.put(keyed(3), noise(3));
    expect(await alone.get(keyed(3))).toBeDefined();
    expect(await alone.get(keyed(4))).toBeUndefined();
  });

  it("takes what is damaged, cut short or gone for nothing kept, and may be deleted at any time", async () => {
    const at = folder();
    const cache = new FolderCache(at, 1e6);
    for (const damage of [
      (file: string) => writeFileSync(file, readFileSync(file).fill(1, 40, 44)),
      (file: string) => writeFileSync(file, readFileSync(file).subarray(0, 500)),
      (file: string) => writeFileSync(file, ""),
      () => rmSync(at, { recursive: true }),
    ]) {
      await cache.put(keyed(5), noise(5));
      expect(await cache.get(keyed(5))).toBeDefined();
      damage(join(at, keyed(5)));
      expect(await cache.get(keyed(5))).toBeUndefined();
    }
    // A folder that cannot be made is as good as none.
    const nowhere = new FolderCache(join(at, "not", "there"), 1e6);
    await nowhere.put(keyed(1), noise(1));
    expect(await nowhere.get(keyed(1))).toBeUndefined();
  });
});

describe("a job whose pieces are kept", { timeout: 180_000 }, () => {
  const kit = { kit: "tag", pieces: [pieceForm("tag"), pieceForm("tab", { bleed: 2 })] };
  const make = async (cache?: FolderCache, colour = "#2f7f8a", resolution = 72) => {
    const shop = named("shop.json", { ...SHOP, presses: { digital: { ...SHOP.presses.digital, resolution } } });
    const store = shelf({
      tag: { "kit.json": kit, "tag.svg": card(60, 40).replace("#2f7f8a", colour), "tab.svg": card(30, 40) },
    });
    const out = inMemory();
    const openers = new Openers({}, cache);
    const orders = [named("o.json", { order: "C-1", lines: [{ kit: "tag", quantity: 2 }] })];
    const { job } = await run({ shop, orders }, { kits: store, out: () => out }, { effort: "quick", openers });
    await openers.close();
    if (!job) throw new Error("no job");
    return out.files;
  };

  it("has the same bytes, and other pieces when artwork or press are others", async () => {
    const at = folder();
    const alone = await make();
    const use = async (...more: [string?, number?]) => {
      const cache = new FolderCache(at, 1e8);
      const files = await make(cache, ...more);
      return { files, hits: cache.hits, misses: cache.misses };
    };
    expect(await use()).toEqual({ files: alone, hits: 0, misses: 2 });
    expect(await use()).toEqual({ files: alone, hits: 2, misses: 0 });
    const other = await use("#803030");
    expect([other.hits, other.misses]).toEqual([1, 1]);
    expect(other.files).toEqual(await make(undefined, "#803030"));
    expect((await use("#2f7f8a", 96)).misses).toBe(2);
  });
});
