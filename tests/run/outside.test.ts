// What comes from outside is opened apart: whatever one file does, its piece has a finding and its neighbours are as ever.
import { check, type Finding, inMemory, Openers, run } from "@kitforme/run";
import { afterAll, describe, expect, it, vi } from "vitest";
import { page, paths, selfCalling } from "../hostile/pdf.ts";
import { card, named, pieceForm, SHOP, shelf } from "../support/shelf.ts";

vi.setConfig({ testTimeout: 300_000 });
const openers = new Openers();
afterAll(() => openers.close());

const shop = named("shop.json", SHOP);
const order = (kit: string, name: string) => named(`${name}.json`, { order: name, lines: [{ kit, quantity: 2 }] });
const artwork = (file: string) => ({ artwork: { file, box: [0, 0, 60, 40] } });
const good = {
  "kit.json": {
    kit: "good",
    pieces: [
      pieceForm("a", artwork("a.pdf")),
      pieceForm("b", { drawing: "a.svg" }),
      pieceForm("c", { drawing: "a.svg" }),
    ],
  },
  "a.svg": card(60, 40),
  "a.pdf": page("0.1 0.4 0.7 rg 0 0 170 113 re f 1 g 20 20 60 50 re f"),
};
const bad = (file: Uint8Array, name = "bad.pdf") => ({
  "kit.json": {
    kit: "bad",
    pieces: [
      pieceForm("a", { drawing: "a.svg" }),
      pieceForm("x", { drawing: "a.svg", ...artwork(name) }),
      pieceForm("z", { drawing: "a.svg" }),
    ],
  },
  "a.svg": card(60, 40),
  [name]: file,
});
const errors = (findings: readonly Finding[]) => findings.filter((f) => f.level === "error");

describe("a file that calls itself", () => {
  it("is a finding at its piece; the kit beside it comes out byte for byte as alone, before and after", async () => {
    const store = shelf({ good, bad: bad(selfCalling()) });
    const make = async (orders: readonly { file: string; text: string }[]) => {
      const out = inMemory();
      const { job, findings } = await run(
        { shop, orders },
        { kits: store, out: () => out },
        { effort: "quick", openers },
      );
      return { files: out.files, made: job !== undefined, findings };
    };
    const before = await make([order("good", "G-1")]);
    expect(before.made).toBe(true);
    const both = await make([order("good", "G-1"), order("bad", "B-1")]);
    const after = await make([order("good", "G-1")]);
    expect([...after.files.keys()]).toEqual([...before.files.keys()]);
    for (const [name, bytes] of before.files)
      expect(Buffer.compare(bytes, after.files.get(name) ?? Buffer.of())).toBe(0);
    if (both.made) expect(errors(both.findings)).toEqual([]);
    for (const { where } of errors(both.findings))
      expect(where).toMatchObject({ kit: "bad", piece: "x", file: "bad.pdf" });
  });
});

describe("a file that takes more than its process may have", () => {
  it("is stopped by processor time or memory and told with its place, and its kit's other pieces are looked at", async () => {
    const store = shelf({ bad: bad(paths(100_000)) });
    const bounds = { seconds: 20, memory: 2000 };
    for (const [preparing, words] of [
      [{ ...bounds, seconds: 0.8 }, "more than 0.8 s of processor time"],
      [{ ...bounds, memory: 130 }, "more than 130 MiB of memory"],
    ] as const) {
      const tight = new Openers({ preparing });
      const { findings } = await check({ shop, orders: [], folders: ["bad"] }, store, { openers: tight });
      await tight.close();
      const about = errors(findings).filter(({ where }) => where.piece === "x");
      expect(about.map(({ rule, where, message }) => ({ rule, where, message }))).toEqual([
        {
          rule: "file-too-heavy",
          where: { kit: "bad", piece: "x", stock: "card", file: "bad.pdf" },
          message: expect.stringContaining(words),
        },
      ]);
    }
  });
});

describe("assembly pages", () => {
  const where = { kit: "steps", file: "steps.pdf", field: "assembly" };
  const open = (bytes: Uint8Array, by: Openers) =>
    by.assemblyOpener(undefined)({ kit: "steps", file: "steps.pdf", bytes });

  it("are opened apart: what takes too much or is damaged is a finding with its place", async () => {
    const sound = page("0 g 10 10 50 50 re f");
    const good = await open(sound, openers);
    expect(good.findings).toEqual([]);
    expect(Buffer.from(good.value?.pages[0]?.bytes ?? []).toString("latin1")).toMatch(/^%PDF-/);
    const cut = await open(sound.subarray(0, 300), openers);
    expect(cut.findings).toMatchObject([{ level: "error", rule: "assembly-unreadable", where }]);
    const tight = new Openers({ preparing: { seconds: 20, memory: 130 } });
    const heavy = await open(paths(40_000), tight);
    await tight.close();
    expect(heavy.value).toBeUndefined();
    expect(heavy.findings).toMatchObject([{ level: "error", rule: "file-too-heavy", where }]);
  });
});

describe("the processes", () => {
  it("end with a run that was stopped", async () => {
    const stop = new AbortController();
    let stopped = 0;
    const running = run(
      { shop, orders: [order("bad", "B-1")] },
      { kits: shelf({ bad: bad(paths(200_000)) }), out: inMemory },
      {
        signal: stop.signal,
        onProgress: ({ phase }) => {
          if (phase !== "prepare" || stopped > 0) return;
          stopped = performance.now();
          setTimeout(() => stop.abort(new Error("enough")), 300);
        },
      },
    );
    await expect(running).rejects.toThrow("enough");
    expect(performance.now() - stopped).toBeLessThan(5000);
  });

  it("do not keep a failure of the disk under the kits for a fault of the piece", async () => {
    const full = Object.assign(new Error("EIO: i/o error, read"), { code: "EIO" });
    const store = {
      ...shelf({ good }),
      read: (_: string, path: string) =>
        path === "kit.json" ? Promise.resolve(Buffer.from(JSON.stringify(good["kit.json"]))) : Promise.reject(full),
    };
    await expect(check({ shop, orders: [], folders: ["good"] }, store, { openers })).rejects.toBe(full);
  });
});
