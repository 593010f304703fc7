// Kits as they arrive after a bad copy. Where a kit brings its SHA256SUMS no changed byte goes unseen, in whatever format; without
// them kit.json is held against its form. `npm run test:damage` runs the long form.
import { execFileSync } from "node:child_process";
import { createHash } from "node:crypto";
import { readdirSync, readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { type PieceRead, openPiece, readKit } from "@kitforme/kit";
import { check, type Finding, inMemory, kitsIn, type KitStore, Openers, run, SUMS, sumsIn } from "@kitforme/run";
import { afterAll, describe, expect, it, vi } from "vitest";
import { holdAgainstSums } from "../../packages/run/src/sums/hold-against-sums.ts";
import { sequence } from "../prepress/damage-run.ts";
import { bytes } from "../support/kits.ts";
import { card, named, pieceForm, SHOP, shelf } from "../support/shelf.ts";

vi.setConfig({ testTimeout: 300_000 });
const openers = new Openers();
afterAll(() => openers.close());

const LONG = process.env["KITFORME_DAMAGE"] === "long";
const [CUTS, HITS] = LONG ? [200, 2000] : [6, 40];
const KITS = fileURLToPath(new URL("../../fixtures/demo/kits", import.meta.url));
const filesOf = (kit: string): Map<string, Uint8Array> =>
  new Map(
    readdirSync(`${KITS}/${kit}`, { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile())
      .map((entry) => {
        const path = `${entry.parentPath}/${entry.name}`;
        return [path.slice(KITS.length + kit.length + 2), Uint8Array.from(readFileSync(path))];
      }),
  );

/** A file cut off at random places, and with single bytes changed. */
const damaged = function* (
  whole: Uint8Array,
  seed: number,
  [cuts, hits] = [CUTS, HITS],
): Generator<{ bytes: Uint8Array; at: number; cut: boolean }> {
  const next = sequence(seed);
  for (let i = 0; i < cuts + hits; i++) {
    const at = Math.floor(next() * whole.length);
    const cut = i < cuts;
    const made = cut ? whole.slice(0, at) : whole.slice();
    if (!cut) made[at] = ((whole[at] as number) + 1 + Math.floor(next() * 255)) & 255;
    yield { bytes: made, at, cut };
  }
};

/** What is found when a kit's files are read one after the other. */
const foundIn = async (files: ReadonlyMap<string, Uint8Array>): Promise<readonly Finding[]> => {
  const held = await holdAgainstSums("kit", (path) => Promise.resolve(files.get(path)));
  for (const path of files.keys()) if (path !== SUMS) await held.read(path);
  return held.findings();
};

describe.each(["harbour-lantern", "keepsake", "pilot-boat"])("the demo's kit %s with its check sums", (kit) => {
  const files = filesOf(kit);

  it("is whole, as the system's own program says too", async () => {
    expect(await foundIn(files)).toEqual([]);
    expect(execFileSync("sha256sum", ["-c", "--strict", "--quiet", SUMS], { cwd: `${KITS}/${kit}` }).toString()).toBe(
      "",
    );
    expect(await sumsIn(`${KITS}/${kit}`)).toBe(Buffer.from(files.get(SUMS) ?? []).toString());
  });

  it("shows every file that was cut off or has a byte changed: fonts, pictures, pages, drawings, kit.json", async () => {
    const silent: string[] = [];
    for (const [path, whole] of files) {
      if (path === SUMS) continue;
      for (const { bytes: made, at } of damaged(whole, path.length)) {
        const held = await holdAgainstSums("kit", (asked) => Promise.resolve(asked === SUMS ? files.get(SUMS) : made));
        await held.read(path);
        const [found] = held.findings();
        if (found?.level !== "error" || found.rule !== "file-changed" || found.where.file !== path)
          silent.push(`${path} at ${at}`);
      }
    }
    expect(silent).toEqual([]);
  });

  it("shows damage of the sums themselves, or reads the kit as it is", async () => {
    let same = 0;
    for (const { bytes: made } of damaged(files.get(SUMS) as Uint8Array, 5)) {
      const found = await foundIn(new Map([...files, [SUMS, made]]));
      // A digit in capitals, or a space that became a star, is the same sum.
      if (found.length === 0) same++;
      for (const { rule } of found) expect(["file-changed", "file-unsummed", "sums-unreadable"]).toContain(rule);
    }
    expect(same).toBeLessThan(0.05 * (CUTS + HITS));
  });
});

describe("sums", () => {
  const sum = (text: string): string => createHash("sha256").update(text).digest("hex");
  const found = async (sums: string): Promise<string[]> => {
    const all = await foundIn(
      new Map([
        [SUMS, bytes(sums)],
        ["a.svg", bytes("a")],
        ["fonts/é.ttf", bytes("b")],
      ]),
    );
    return all.map(({ rule, where }) => `${rule} ${where.file}`);
  };

  it("are read as the systems of the world write them", async () => {
    expect(await found(`${sum("a")}  a.svg\n${sum("b")}  fonts/é.ttf\n`)).toEqual([]);
    expect(await found(`${sum("a").toUpperCase()} *./a.svg\r\n${sum("b")} *./fonts/e\u0301.ttf\r\n\r\n`)).toEqual([]);
    expect(await found(`${sum("a")}  a.svg`)).toEqual(["file-unsummed fonts/é.ttf"]);
    expect(await found("")).toEqual(["file-unsummed a.svg", "file-unsummed fonts/é.ttf"]);
    expect(await found(`${sum("b")}  a.svg\n${sum("b")}  fonts/é.ttf\n`)).toEqual(["file-changed a.svg"]);
    expect(await found(`${sum("a")}  a.svg\n${sum("b")}  a.svg\nfonts\n${sum("b")}  fonts/é.ttf`)).toEqual([
      `sums-unreadable ${SUMS}`,
      `sums-unreadable ${SUMS}`,
    ]);
  });

  const kit = { kit: "k", pieces: [pieceForm("a"), pieceForm("b", { drawing: "a.svg" })] };
  const store = (drawing: string, sums: string): KitStore =>
    shelf({ k: { "kit.json": kit, "a.svg": drawing, [SUMS]: sums } });
  const shop = named("shop.json", SHOP);
  const [whole, hit] = [card(60, 40), card(60, 40).replace("#2f7f8a", "#2f7f8b")];
  const sums = `${sum(JSON.stringify(kit))}  kit.json\n${sum(whole)}  a.svg\n`;
  const order = named("o.json", { order: "O-1", lines: [{ kit: "k", quantity: 1 }] });

  it("stop a job over a digit that makes another good drawing, and let the undamaged one pass", async () => {
    const make = (drawing: string) =>
      run(
        { shop, orders: [order] },
        { kits: store(drawing, sums), out: () => inMemory() },
        { effort: "quick", threads: 1, openers },
      );
    const bad = await make(hit);
    expect(bad.job).toBeUndefined();
    expect(bad.findings.filter(({ level }) => level === "error")).toMatchObject([
      { rule: "file-changed", where: { kit: "k", file: "a.svg" } },
      { rule: "kit-at-fault" },
    ]);
    const { findings } = await check({ shop, orders: [], folders: ["k"] }, store(whole, sums), { openers });
    expect(findings.filter(({ level }) => level !== "note")).toEqual([]);
    const without = await check({ shop, orders: [], folders: ["k"] }, store(whole, `${sum(whole)}  a.svg\n`), {
      openers,
    });
    expect(without.findings).toMatchObject([{ level: "warning", rule: "file-unsummed", where: { file: "kit.json" } }]);
  });

  it("of a buyer's picture stand in the order", async () => {
    const framed = {
      kit: "k",
      pieces: [pieceForm("a", { slots: [{ slot: "photo", picture: true, box: [5, 5, 20, 20] }] })],
    };
    const photo = readFileSync(new URL("../../fixtures/kits/slots/order/uploads/boat.jpg", import.meta.url));
    const rulesOf = async (sha256: string): Promise<string[]> => {
      const texts = [{ photo: { file: "boat.jpg", sha256 } }];
      const asked = named("o.json", { order: "O-1", lines: [{ kit: "k", quantity: 1, texts }] });
      const input = { shop, orders: [{ ...asked, read: () => Promise.resolve(Uint8Array.from(photo)) }] };
      const { findings } = await check(input, shelf({ k: { "kit.json": framed, "a.svg": whole } }), { openers });
      return findings.filter(({ level }) => level === "error").map(({ rule }) => rule);
    };
    const right = createHash("sha256").update(photo).digest("hex");
    expect(await rulesOf(right.toUpperCase())).toEqual([]);
    expect(await rulesOf(right.replace(/^./, (digit) => (digit === "0" ? "1" : "0")))).toEqual(["picture-changed"]);
    expect(await rulesOf("abc")).toEqual(["field-wrong"]);
  });
});

describe("kit.json without sums", () => {
  it("is the same kit, or found; else another value of a field", async () => {
    const store = kitsIn(KITS);
    const text = Buffer.from((await store.read("harbour-lantern", "kit.json")) as Uint8Array).toString();
    const known = new Map<string, Promise<PieceRead>>();
    const read = async (damage: Uint8Array) => {
      const { value, findings } = await readKit({
        folder: "harbour-lantern",
        text: new TextDecoder().decode(damage),
        read: (path) => store.read("harbour-lantern", path),
        open: (request, files) => {
          const key = JSON.stringify(request);
          const answer = known.get(key) ?? openPiece(request, files);
          known.set(key, answer);
          return answer;
        },
      });
      const heard = findings.filter(({ level }) => level !== "note").map(({ rule }) => rule);
      return { kit: value && createHash("sha256").update(JSON.stringify(value)).digest("hex"), heard };
    };
    const good = await read(bytes(text));
    expect(good.heard).toEqual([]);
    const counts = { same: 0, found: 0, another: 0 };
    const elsewhere: string[] = [];
    for (const { bytes: made, at, cut } of damaged(bytes(text), 11, LONG ? undefined : [3, 24])) {
      const { kit, heard } = await read(made);
      if (heard.length > 0) counts.found++;
      else if (kit === good.kit) counts.same++;
      else {
        counts.another++;
        // A digit, or a letter of a name or a text: the byte stands in a value and what it makes is a value too.
        if (cut || !/[\p{L}\p{N}.#+ -]/u.test(text[at] as string))
          elsewhere.push(`${at}: ${text.slice(at - 20, at + 5)}`);
      }
    }
    if (LONG) console.log(`kit.json: ${JSON.stringify(counts)}`);
    expect(elsewhere).toEqual([]);
    expect(counts.found).toBeGreaterThan(counts.another);
  });
});
