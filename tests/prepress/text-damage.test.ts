// Fonts as they arrive after a bad copy: cut off, with bytes changed, or saved by a program that lost glyphs. A text either
// comes out as from the undamaged font, or there is a finding. `npm run test:damage` runs the long form.
import { readFileSync } from "node:fs";
import { deflateSync } from "node:zlib";
import type { TextSlot as Slot } from "@kitforme/kit";
import { BLACK, setText } from "@kitforme/prepress";
import { describe, expect, it } from "vitest";
import { compress } from "wawoff2";
import { entryOf, sealed, tableOf } from "../support/fonts.ts";
import { nameSlot, textCard } from "../support/text-card.ts";

const LONG = process.env["KITFORME_DAMAGE"] === "long";
const CUTS = LONG ? 200 : 24;
const ERRORS = LONG ? 2000 : 60;
const TEXT = "Łódź, Århus & Şile: “Solveig” 1905 – fjord";

const read = (path: string): Uint8Array => new Uint8Array(readFileSync(new URL(`../../${path}`, import.meta.url)));
const LORA = read("fixtures/fonts/Lora-Bold.ttf");
const NOTO = read("packages/prepress/fonts/NotoSans-Regular.ttf");
const PIECE = textCard(200, 50);
const setIn = (bytes: Uint8Array, text = TEXT) => setText(nameSlot(180, 30, bytes), text, PIECE, BLACK);

/** mulberry32: the same errors at every run. */
const randomOf = (seed: number) => () => {
  seed = (seed + 0x6d2b79f5) | 0;
  let t = Math.imul(seed ^ (seed >>> 15), 1 | seed);
  t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
  return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296;
};

/** WOFF 1.0 of an sfnt file (W3C, WOFF File Format 1.0). */
const woff = (font: Uint8Array): Uint8Array => {
  const from = new DataView(font.buffer, font.byteOffset);
  const count = from.getUint16(4);
  const parts: Uint8Array[] = [new Uint8Array(44 + 20 * count)];
  const head = new DataView((parts[0] as Uint8Array).buffer);
  head.setUint32(0, 0x774f4646);
  head.setUint32(4, from.getUint32(0));
  head.setUint16(12, count);
  let end = 44 + 20 * count;
  for (let i = 0; i < count; i++) {
    const [offset, length] = [from.getUint32(12 + 16 * i + 8), from.getUint32(12 + 16 * i + 12)];
    const data = new Uint8Array(deflateSync(font.subarray(offset, offset + length)));
    const stored = data.length < length ? data : font.subarray(offset, offset + length);
    [from.getUint32(12 + 16 * i), end, stored.length, length, from.getUint32(12 + 16 * i + 4)].forEach((n, k) =>
      head.setUint32(44 + 20 * i + 4 * k, n),
    );
    const padded = new Uint8Array((stored.length + 3) & ~3);
    padded.set(stored);
    parts.push(padded);
    end += padded.length;
  }
  return new Uint8Array(Buffer.concat(parts));
};

describe("fonts cut off and with bytes changed", () => {
  const packings: [string, () => Promise<Uint8Array>][] = [
    ["the demo's font", () => Promise.resolve(LORA)],
    ["the bundled font", () => Promise.resolve(NOTO)],
    ["the demo's font as WOFF", () => Promise.resolve(woff(LORA))],
    ["the demo's font as WOFF2", async () => new Uint8Array(await compress(LORA))],
  ];
  it.each(packings)(
    "%s: as the undamaged one, or a finding",
    async (_, make) => {
      const whole = await make();
      const good = await setIn(whole);
      expect(good.findings.map((f) => f.rule)).toEqual([]);
      expect(good.value?.outlines.length).toBeGreaterThan(1000);
      const random = randomOf(7);
      const damaged = [
        ...Array.from({ length: CUTS }, (__, i) => ({
          what: `cut at share ${i} of ${CUTS}`,
          bytes: whole.slice(0, Math.floor((whole.length * i) / CUTS)),
        })),
        ...Array.from({ length: ERRORS }, () => {
          const bytes = whole.slice();
          // A third of the errors in the first kilobyte, where directories are.
          const at = Math.floor(random() * (random() < 1 / 3 ? 1024 : bytes.length));
          const before = bytes[at] as number;
          bytes[at] = (before + 1 + Math.floor(random() * 255)) % 256;
          return { what: `byte ${at} from ${before} to ${bytes[at]}`, bytes };
        }),
      ];
      const silent: string[] = [];
      for (const { what, bytes } of damaged) {
        const { value, findings } = await setIn(bytes);
        if (findings.length === 0 && value?.outlines !== good.value?.outlines) silent.push(what);
      }
      expect(silent).toEqual([]);
    },
    LONG ? 1_200_000 : 60_000,
  );
});

describe("fonts saved without what their letters need: every sum is right", () => {
  const glyphOf = (font: Uint8Array, char: string): number => {
    // cmap format 4 (OpenType specification), the first subtable of platform 3.
    const cmap = tableOf(font, "cmap");
    const view = new DataView(cmap.buffer, cmap.byteOffset);
    const code = char.codePointAt(0) as number;
    for (let i = 0; i < view.getUint16(2); i++) {
      const at = view.getUint32(4 + 8 * i + 4);
      if (view.getUint16(at) !== 4) continue;
      const segments = view.getUint16(at + 6) / 2;
      for (let s = 0; s < segments; s++) {
        const [end, start] = [view.getUint16(at + 14 + 2 * s), view.getUint16(at + 16 + 2 * (segments + s))];
        if (code < start || code > end) continue;
        const range = at + 16 + 6 * segments + 2 * s;
        const offset = view.getUint16(range);
        const delta = view.getInt16(at + 16 + 4 * segments + 2 * s);
        const glyph = offset === 0 ? code : view.getUint16(range + offset + 2 * (code - start));
        return (glyph + delta) & 0xffff;
      }
    }
    throw new Error(`no glyph for ${char}`);
  };
  const longLoca = (font: Uint8Array): boolean => {
    const head = tableOf(font, "head");
    return new DataView(head.buffer, head.byteOffset).getInt16(50) !== 0;
  };
  /** Where in the file a glyph lies. */
  const rangeOf = (font: Uint8Array, glyph: number): [number, number] => {
    const [loca, glyf] = [tableOf(font, "loca"), tableOf(font, "glyf")];
    const view = new DataView(loca.buffer, loca.byteOffset);
    const at = (i: number) => (longLoca(font) ? view.getUint32(4 * i) : 2 * view.getUint16(2 * i));
    return [glyf.byteOffset + at(glyph), glyf.byteOffset + at(glyph + 1)];
  };
  /** A glyph without outline: its entry and the next one alike, the glyph after it longer at its end. */
  const emptied = (font: Uint8Array, glyph: number): Uint8Array => {
    const made = font.slice();
    const loca = tableOf(made, "loca");
    const view = new DataView(loca.buffer, loca.byteOffset);
    if (longLoca(font)) view.setUint32(4 * (glyph + 1), view.getUint32(4 * glyph));
    else view.setUint16(2 * (glyph + 1), view.getUint16(2 * glyph));
    return sealed(made);
  };
  const componentsOf = (font: Uint8Array, glyph: number): { at: number; glyph: number }[] => {
    const view = new DataView(font.buffer, font.byteOffset);
    const found: { at: number; glyph: number }[] = [];
    let at = rangeOf(font, glyph)[0] + 10;
    for (let flags = 0x20; flags & 0x20; ) {
      flags = view.getUint16(at);
      found.push({ at: at + 2, glyph: view.getUint16(at + 2) });
      at += 4 + (flags & 1 ? 4 : 2) + (flags & 8 ? 2 : flags & 0x40 ? 4 : flags & 0x80 ? 8 : 0);
    }
    return found;
  };
  const withComponent = (font: Uint8Array, char: string, to: (own: number) => number): Uint8Array => {
    const made = font.slice();
    const own = glyphOf(font, char);
    const last = componentsOf(font, own).at(-1);
    if (!last) throw new Error(`${char} is no composite`);
    new DataView(made.buffer).setUint16(last.at, to(own));
    return sealed(made);
  };

  it.each([
    ["a letter without outline", emptied(LORA, glyphOf(LORA, "S")), "Solveig", '"Solveig": glyph'],
    [
      "an accent without outline: Łódź became Łodz",
      emptied(NOTO, componentsOf(NOTO, glyphOf(NOTO, "ź")).at(-1)?.glyph ?? 0),
      "Łódź",
      "which is empty",
    ],
    ["a letter built of itself", withComponent(NOTO, "ź", (own) => own), "Łódź", "is built of itself"],
    ["a part that no glyph is", withComponent(NOTO, "ź", () => 0xfff0), "Łódź", "beyond its"],
  ])("%s is a finding with file and character", async (_, bytes, text, why) => {
    const { value, findings } = await setIn(bytes, text);
    expect(value).toBeUndefined();
    expect(findings[0]).toMatchObject({ level: "error", rule: "glyph-damaged", where: { slot: "boat" } });
    expect(findings[0]?.message).toContain("fonts/name.ttf cannot draw");
    expect(findings[0]?.message).toContain(why);
  });

  it("says nothing of such a letter while no text needs it", async () => {
    const { value, findings } = await setIn(emptied(LORA, glyphOf(LORA, "S")), "Aino");
    expect(findings).toEqual([]);
    expect(value?.outlines).toBe((await setIn(LORA, "Aino")).value?.outlines);
  });

  it("refuses an outline that runs past its end", async () => {
    const made = LORA.slice();
    const [from, to] = rangeOf(LORA, glyphOf(LORA, "v"));
    // The end of the last contour: more points than there are bytes for.
    const view = new DataView(made.buffer);
    const contours = view.getInt16(from);
    view.setUint16(from + 10 + 2 * (contours - 1), to - from);
    expect((await setIn(sealed(made), "Solveig")).findings.map((f) => f.rule)).toEqual(["glyph-damaged"]);
  });

  it("names the tables that lie outside a font cut off", async () => {
    const { findings } = await setIn(LORA.slice(0, LORA.length - 2000));
    expect(findings).toMatchObject([{ level: "error", rule: "font-unreadable" }]);
    expect(findings[0]?.message).toMatch(/of the \d+ bytes of its table "\w+" lie outside the file/);
    expect(entryOf(LORA, "glyf")).toBeGreaterThan(0);
  });
});

describe("marks", () => {
  it("draws eight stacked accents of the house's own words within their line", async () => {
    const { setLine } = await import("@kitforme/prepress");
    const piled = setLine(`Zoe${"\u0301".repeat(8)} ${"\u0323".repeat(8)}`, { size: 8 });
    const ys = (piled.outlines.match(/-?[\d.]+/g) ?? []).map(Number).filter((__, i) => i % 2 === 1);
    expect(Math.max(...ys)).toBeLessThanOrEqual(piled.ascent + 1);
    expect(Math.min(...ys)).toBeGreaterThanOrEqual(-piled.descent - 1);
    expect(piled.outlines.split("M").length).toBeGreaterThan(12);
  });

  it("takes all letters of a word from one font, where one of the chain has them all", async () => {
    // It has every letter of the name but the hooked d.
    const hebrew = read("fixtures/fonts/Assistant-Regular.ttf");
    const slot: Slot = { ...nameSlot(180, 30, hebrew), fonts: [{ file: "a.ttf", bytes: hebrew }] };
    const word = await setText(slot, "Haɗeja", PIECE, BLACK);
    const whole = await setText({ ...slot, fonts: [] }, "Haɗeja", PIECE, BLACK);
    expect(word.findings.map((f) => f.rule)).toEqual(["glyph-fallback"]);
    // Only the baseline's place differs with the leading font; the letters are those of one font.
    const shape = (d: string | undefined) => {
      const n = (d?.match(/-?[\d.]+/g) ?? []).map(Number);
      return n.map((v, i) => Math.round(v - (n[i % 2] as number)));
    };
    expect(shape(word.value?.outlines)).toEqual(shape(whole.value?.outlines));
  });
});
