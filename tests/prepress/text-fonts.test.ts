import { readFileSync } from "node:fs";
import { deflateSync } from "node:zlib";
import { BLACK, setText } from "@kitforme/prepress";
import { describe, expect, it } from "vitest";
import { compress } from "wawoff2";
import { entryOf, sealed } from "../support/fonts.ts";
import { nameSlot, textCard } from "../support/text-card.ts";

const LORA = new Uint8Array(readFileSync(new URL("../../fixtures/fonts/Lora-Bold.ttf", import.meta.url)));
const PIECE = textCard(100, 50);
const setIn = (bytes: Uint8Array) => setText(nameSlot(80, 30, bytes), "Solveig", PIECE, BLACK);

const renamed = (tag: string, as: string): Uint8Array => {
  const font = LORA.slice();
  font.set(new TextEncoder().encode(as), entryOf(font, tag));
  // Readers look tables up by halving, so the directory must stay sorted.
  const end = 12 + 16 * new DataView(font.buffer).getUint16(4);
  const entries: Uint8Array[] = [];
  for (let at = 12; at < end; at += 16) entries.push(font.slice(at, at + 16));
  entries.sort((a, b) => Buffer.compare(a.subarray(0, 4), b.subarray(0, 4)));
  font.set(Buffer.concat(entries), 12);
  return sealed(font);
};
const permitted = (version: number, fsType: number): Uint8Array => {
  const font = LORA.slice();
  const view = new DataView(font.buffer);
  const os2 = view.getUint32(entryOf(font, "OS/2") + 8);
  view.setUint16(os2, version);
  view.setUint16(os2 + 8, fsType);
  return sealed(font);
};
/** WOFF 1.0 of an sfnt file (W3C, WOFF File Format 1.0, sections 4 and 5). */
const woff = (font: Uint8Array): Uint8Array => {
  const from = new DataView(font.buffer, font.byteOffset);
  const count = from.getUint16(4);
  const parts: Uint8Array[] = [new Uint8Array(44 + 20 * count)];
  const head = new DataView((parts[0] as Uint8Array).buffer);
  head.setUint32(0, 0x774f4646);
  head.setUint32(4, from.getUint32(0));
  head.setUint16(12, count);
  head.setUint32(16, font.length);
  let end = 44 + 20 * count;
  for (let i = 0; i < count; i++) {
    const [entry, to] = [12 + 16 * i, 44 + 20 * i];
    const [offset, length] = [from.getUint32(entry + 8), from.getUint32(entry + 12)];
    const raw = font.subarray(offset, offset + length);
    const packed = new Uint8Array(deflateSync(raw));
    const data = packed.length < length ? packed : raw;
    head.setUint32(to, from.getUint32(entry));
    head.setUint32(to + 4, end);
    head.setUint32(to + 8, data.length);
    head.setUint32(to + 12, length);
    head.setUint32(to + 16, from.getUint32(entry + 4));
    const padded = new Uint8Array((data.length + 3) & ~3);
    padded.set(data);
    parts.push(padded);
    end += padded.length;
  }
  return new Uint8Array(Buffer.concat(parts));
};
const ruled = async (bytes: Uint8Array) => {
  const { value, findings } = await setIn(bytes);
  return { set: value !== undefined, rules: findings.map((f) => `${f.level} ${f.rule}`) };
};

describe("packings", () => {
  it("reads WOFF and WOFF2 as the font they hold", async () => {
    const plain = (await setIn(LORA)).value?.outlines;
    expect(plain?.length).toBeGreaterThan(100);
    expect((await setIn(woff(LORA))).value?.outlines).toBe(plain);
    expect((await setIn(new Uint8Array(await compress(LORA)))).value?.outlines).toBe(plain);
  });

  it.each([
    ["nothing", new Uint8Array()],
    ["words", new TextEncoder().encode("this is no font at all")],
    ["a font cut short", LORA.slice(0, 400)],
    ["a font without its character map", renamed("cmap", "xxxx")],
    ["a font without outlines", renamed("glyf", "xxxx")],
    ["a WOFF cut short", woff(LORA).slice(0, 900)],
  ])("refuses %s", async (_, bytes) => {
    expect(await ruled(bytes)).toEqual({ set: false, rules: ["error font-unreadable"] });
  });

  it("refuses a WOFF2 cut short", async () => {
    const packed = new Uint8Array(await compress(LORA));
    expect(await ruled(packed.slice(0, 2000))).toEqual({ set: false, rules: ["error font-unreadable"] });
  });

  it("refuses a font that paints its letters itself", async () => {
    expect(await ruled(renamed("gasp", "COLR"))).toEqual({ set: false, rules: ["error font-colour"] });
  });
});

describe("permission bits (OpenType specification, OS/2 fsType)", () => {
  it.each([
    ["installable", 4, 0x0000, true],
    ["preview and print", 4, 0x0004, true],
    ["editable", 4, 0x0008, true],
    ["no subsetting, which outlines are not", 4, 0x0100, true],
    ["restricted", 4, 0x0002, false],
    ["restricted and editable in an old table: the milder holds", 2, 0x000a, true],
    ["restricted and editable in a new table, which must not be", 4, 0x000a, false],
    ["bitmaps only", 4, 0x0200, false],
  ])("%s", async (_, version, fsType, set) => {
    expect(await ruled(permitted(version, fsType))).toEqual({
      set,
      rules: set ? [] : ["error font-forbids-embedding"],
    });
  });

  it("warns when a font says nothing about it", async () => {
    expect(await ruled(renamed("OS/2", "xxxx"))).toEqual({ set: true, rules: ["warning font-permission-unknown"] });
  });

  // OpenType, fvar: version 1.0, axes from byte 16, one axis of 20 bytes, no instances; the axis with 16.16 limits.
  it("sets the default instance of a variable font, and says so", async () => {
    const fvar = new DataView(new ArrayBuffer(36));
    [1, 0, 16, 2, 1, 20, 0, 8].forEach((n, i) => fvar.setUint16(2 * i, n));
    fvar.setUint32(16, 0x77676874); // wght
    [400, 700, 900].forEach((n, i) => fvar.setInt32(20 + 4 * i, n * 65536));
    fvar.setUint16(34, 256);
    // In the place of a table that nothing needs, its bytes at the end of the file.
    const named = renamed("gasp", "fvar");
    const at = (named.length + 3) & ~3;
    const font = new Uint8Array(at + 36);
    font.set(named);
    font.set(new Uint8Array(fvar.buffer), at);
    const entry = new DataView(font.buffer);
    entry.setUint32(entryOf(font, "fvar") + 8, at);
    entry.setUint32(entryOf(font, "fvar") + 12, 36);
    const { value, findings } = await setIn(sealed(font));
    expect(findings).toMatchObject([{ level: "note", rule: "font-variable" }]);
    expect(findings[0]?.message).toContain("wght");
    expect(value?.outlines).toBe((await setIn(LORA)).value?.outlines);
  });
});
