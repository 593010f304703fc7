// Memory stays flat, however many pieces there are: pictures lie in a temporary file from when a process has made them until
// the sheet they stand on is written.
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setFlagsFromString } from "node:v8";
import { runInNewContext } from "node:vm";
import { FolderCache, inMemory, Openers, run } from "@kitforme/run";
import { expect, it, onTestFinished, vi } from "vitest";
import { check } from "../support/openers.ts";
import { named, pieceForm, SHOP, shelf } from "../support/shelf.ts";
import { svgMm } from "../support/kits.ts";

vi.setConfig({ testTimeout: 300_000 });

const PIECES = 10;
const press = { ...SHOP.presses.digital, resolution: 300 };
const shop = named("shop.json", { ...SHOP, presses: { digital: press } });
/** A picture of 1500 x 1000 pixels in four inks (blurred, so that it does not print as vectors): 6 MB, and no two the same. */
const picture = (i: number): string =>
  svgMm(
    120,
    80,
    `<g id="art"><filter id="f"><feGaussianBlur stdDeviation=".4"/></filter><rect x="-4" y="-4" width="128" height="88" fill="#2f7f8a"/><circle cx="${20 + i}" cy="40" r="${5 + i}" fill="#f60" filter="url(#f)"/></g><path id="cut" d="M0 0H120V80H0Z"/>`,
  );
const RASTERS = PIECES * 126 * 86 * (300 / 25.4) ** 2 * 4;
setFlagsFromString("--expose-gc");
/** What nobody holds is gone: when it would go by itself depends on what else runs in the process. */
const collect = runInNewContext("gc") as () => void;

/**
 * Bytes of arrays that are held, the most at any moment of the phase, and what is held all through it: what a library of the system
 * still had in hand when the phase began goes with a later collection, and on a busy machine that was five pictures once.
 */
const watched = (phase: string) => {
  collect();
  const base = process.memoryUsage().arrayBuffers;
  const watch = {
    most: 0,
    allThrough: Infinity,
    onProgress: (at: { readonly phase: string }) => {
      if (at.phase !== phase) return;
      collect();
      const held = process.memoryUsage().arrayBuffers - base;
      watch.most = Math.max(watch.most, held);
      watch.allThrough = Math.min(watch.allThrough, held);
    },
  };
  return watch;
};

it("of a kit of many pieces, none of their pictures is in memory when they are laid out, wherever they came from", async () => {
  const files = Object.fromEntries(Array.from({ length: PIECES }, (_, i) => [`p${i}.svg`, picture(i)]));
  const kit = { kit: "many", pieces: Object.keys(files).map((file) => pieceForm(file.split(".")[0] as string)) };
  const order = named("o.json", { order: "O-1", lines: [{ kit: "many", quantity: 1 }] });
  const folder = mkdtempSync(join(tmpdir(), "kitforme-memory-"));
  const cache = new FolderCache(folder, 1e9);
  const openers = new Openers({}, cache);
  onTestFinished(async () => {
    await openers.close();
    rmSync(folder, { recursive: true, force: true });
  });
  for (const hits of [0, PIECES]) {
    const watch = watched("gang");
    const { job } = await run(
      { shop, orders: [order] },
      { kits: shelf({ many: { "kit.json": kit, ...files } }), out: () => inMemory() },
      { effort: "quick", onProgress: watch.onProgress, openers },
    );
    expect(job?.sheets.length).toBeGreaterThan(1);
    expect(watch.allThrough).toBeLessThan(RASTERS / 4);
    // The second time they come from the cache.
    expect(cache.hits).toBe(hits);
  }
});

it("of many kits that are checked, each is forgotten before the next", async () => {
  const store = shelf(
    Object.fromEntries(
      Array.from({ length: PIECES }, (_, i) => [
        `k${i}`,
        {
          "kit.json": { kit: `k${i}`, pieces: [pieceForm("p", { unknown: true })] },
          "p.svg": `${picture(i)}<!--${" ".repeat(2_000_000)}-->`,
        },
      ]),
    ),
  );
  const watch = watched("read");
  const heard: string[] = [];
  const { findings } = await check({ shop, orders: [], folders: await store.folders() }, store, {
    onProgress: (at) => {
      watch.onProgress(at);
      if (at.phase === "read") heard.push(`reads ${at.what}`);
    },
    onFindings: (found) => heard.push(...found.map(({ where }) => `found ${where.kit}`)),
  });
  expect(findings.filter(({ level }) => level === "error")).toEqual([]);
  // What was found of a kit is heard of before the next one is read, and once.
  const kits = (await store.folders()).flatMap((kit) => [
    `reads ${kit}`,
    ...findings.filter(({ where }) => where.kit === kit).map(() => `found ${kit}`),
  ]);
  expect(heard.filter((one) => one !== "reads ")).toEqual(kits);
  expect(findings.length).toBeGreaterThan(0);
  // What was read of all together is 20 MB.
  expect(watch.most).toBeLessThan(RASTERS / 4);
});

it("of long texts, the outlines are on the disk until they are asked for", async () => {
  const openers = new Openers();
  // As long as a name of a dozen letters, and no two the same.
  const outlinesOf = (i: number): string =>
    `M ${i} 0${Array.from({ length: 400 }, (_, k) => ` L ${(i * 31 + k * 17) % 9973}.5 ${(i * 7 + k * 29) % 9967}.1`).join("")} Z`;
  try {
    collect();
    const before = process.memoryUsage();
    const set = Array.from({ length: 1_000 }, (_, i) => openers.aside({ slot: `s${i}`, outlines: outlinesOf(i) }));
    collect();
    const after = process.memoryUsage();
    const bytes = set.reduce((sum, { outlines }) => sum + outlines.length, 0);
    expect(bytes).toBeGreaterThan(5_000_000);
    expect(after.heapUsed - before.heapUsed + after.arrayBuffers - before.arrayBuffers).toBeLessThan(bytes / 4);
    for (const i of [0, 1, 999]) expect({ ...set[i] }).toEqual({ slot: `s${i}`, outlines: outlinesOf(i) });
    // A short one is no lighter there than here.
    const short = { outlines: "M 0 0 L 1 1 Z" };
    expect(openers.aside(short)).toBe(short);
  } finally {
    await openers.close();
  }
});
