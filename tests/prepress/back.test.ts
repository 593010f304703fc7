// The reverse of a piece: made ready like a front, and set so that it reads right from behind.
import { mm, outlinesBounds } from "@kitforme/geometry";
import type { CodeSlot, Piece, PictureSlot, TextSlot } from "@kitforme/kit";
import { BLACK, prepare, safeOf, setCode, setPicture, setText } from "@kitforme/prepress";
import sharp from "sharp";
import { describe, expect, it } from "vitest";
import { box, drawing, file, page, piece, press, PT, square } from "./artwork-samples.ts";

const GREEN = '<path d="M0 0h20v20h-20z" fill="#0a0"/>';
const green = drawing(GREEN);
/** Ink from 0 to 15 mm only: the right edge is paper. */
const short = drawing('<path d="M0 0h15v20h-15z" fill="#0a0"/>');

const WIDE = [
  [0, 0],
  [60, 0],
  [60, 30],
  [0, 30],
].map(([x = 0, y = 0]) => ({ x: mm(x), y: mm(y) }));
const sheet = (slots: Piece["slots"] = []): Piece =>
  piece(null, {
    parts: [{ outer: WIDE, openings: [] }],
    lines: [{ operation: "cutting", closed: true, points: WIDE }],
    slots,
    back: { artwork: null },
  });
const frame = { slot: "name", box: { x: mm(8), y: mm(6), width: mm(40), height: mm(16) }, safe: mm(2) };
const middle = frame.box.x + frame.box.width / 2;

/** Path data with its x about the middle of the slot turned over. */
const over = (outlines = ""): string => {
  let axis = 0;
  return outlines.replace(/[A-Z]|-?[\d.]+/g, (token) => {
    if (/[A-Z]/.test(token)) axis = 0;
    else if (axis++ % 2 === 0) return String(Math.round((2 * middle - Number(token)) * 10) / 10 + 0);
    return token;
  });
};
const sorted = (outlines = ""): number[] => (outlines.match(/-?[\d.]+/g) ?? []).map(Number).sort((a, b) => a - b);

describe("prepare", () => {
  it("makes both sides, each with its own bleed, under one reach", async () => {
    const { value, findings } = await prepare(piece(green, { back: { artwork: green } }), press());
    expect(findings).toEqual([]);
    expect(value?.back).toMatchObject({ layers: value?.layers, bleed: { wanted: 2000, least: 2000 } });
    const alone = await prepare(piece(null, { back: { artwork: green } }), press());
    expect(alone.value?.layers).toEqual([]);
    expect(alone.value?.reach).toEqual(value?.reach);
    expect(outlinesBounds(alone.value?.reach ?? [])).toEqual({ x: -2000, y: -2000, width: 24_000, height: 24_000 });
  });

  it("says of the back that it is the back, at the place as seen from the front", async () => {
    const placeOf = async (back: Piece["back"]) => {
      const { findings } = await prepare(piece(green, back ? { back } : {}), press());
      return findings.map(({ rule, where: { side, at = [0, 0] } }) => [rule, side, at[0] > 10 ? "right" : "left"]);
    };
    expect(await placeOf({ artwork: short })).toEqual([["artwork-short", "back", "right"]]);
    expect(await placeOf({ artwork: short, mirror: mm(20) })).toEqual([["artwork-short", "back", "left"]]);
  });

  it("warns of letters on a page that its reader will see mirrored", async () => {
    const told = async (text: string, behind: "front" | "back") => {
      const content = `0 0.5 0 rg 0 0 ${PT(20)} ${PT(20)} re f 0 g BT /F 9 Tf ${text} (Boat) Tj ET`;
      const fonts = { Font: { F: { Type: "Font", Subtype: "Type1", BaseFont: "Helvetica" } } };
      const artwork = { ...file("pdf", await page(content, fonts)), behind };
      const back = { artwork, ...(behind === "back" ? { mirror: mm(20) } : {}) };
      const { findings } = await prepare(piece(null, { back }), press());
      return findings
        .filter(({ rule }) => rule === "back-text-mirrored")
        .map(({ level, where: { side, at } }) => [level, side, at?.map(Math.round)]);
    };
    const [upright, over] = [`${PT(4)} ${PT(10)} Td`, `-1 0 0 1 ${PT(16)} ${PT(10)} Tm`];
    expect(await told(upright, "front")).toEqual([["warning", "back", [4, 10]]]);
    expect(await told(over, "front")).toEqual([]);
    expect(await told(upright, "back")).toEqual([]);
    expect(await told(over, "back")).toEqual([["warning", "back", [4, 10]]]);
  });

  it("turns over outline and artwork of one that is drawn as its reader sees it", async () => {
    // A triangle with its upright side left; seen from behind it stands right.
    const outer = [
      { x: 0, y: 0 },
      { x: mm(20), y: mm(20) },
      { x: 0, y: mm(20) },
    ];
    const png = await sharp({ create: { width: 200, height: 200, channels: 3, background: "#0a0" } })
      .png()
      .toBuffer();
    const made = piece(null, {
      parts: [{ outer, openings: [] }],
      back: { artwork: file("png", png, box), mirror: mm(20) },
    });
    const { value } = await prepare(made, press());
    const clips = (value?.back?.layers ?? []).flatMap(({ clip }) => clip ?? []);
    expect(value?.back?.mirror).toBe(mm(20));
    // The upright side with its bleed, in the reader's space.
    expect(clips.flat().filter(({ x, y }) => x > mm(19) && y < mm(3)).length).toBeGreaterThan(0);
    expect(clips.flat().filter(({ x, y }) => x < mm(5) && y < mm(3))).toEqual([]);
    expect(value?.piece.parts[0]?.outer).toBe(outer);
  });
});

describe("slots of the back", () => {
  const text = (more: Partial<TextSlot> = {}): TextSlot => ({
    kind: "text",
    ...frame,
    fonts: [],
    size: 20,
    leastSize: 8,
    align: "left",
    colour: "#000000",
    ...more,
  });

  it.each([0, 90, 30])("set a text in the mirror image of the front's, turned by %d degrees", async (turn) => {
    const front = await setText(text({ turn }), "Åse", sheet(), BLACK);
    const back = await setText(text({ turn, side: "back" }), "Åse", sheet(), BLACK);
    expect(front.value?.outlines.length).toBeGreaterThan(100);
    const [wanted, got] = [sorted(over(front.value?.outlines)), sorted(back.value?.outlines)];
    expect(got).toHaveLength(wanted.length);
    for (const [i, n] of got.entries()) expect(Math.abs(n - (wanted[i] ?? 0))).toBeLessThan(0.2);
    expect(back.value?.side).toBe("back");
    expect(front.value?.side).toBeUndefined();
  });

  it("mirror codes and pictures", async () => {
    const code: CodeSlot = { kind: "code", ...frame, code: "datamatrix", quiet: 1 };
    const [front, back] = [
      setCode(code, "HL-1", sheet(), press()),
      setCode({ ...code, side: "back" }, "HL-1", sheet(), press()),
    ];
    // Bars of a row begin and end at the same places, told from the other side.
    expect(sorted(over(front.value?.outlines))).toEqual(sorted(back.value?.outlines));
    expect(back.value?.outlines).not.toBe(front.value?.outlines);
    // Left half red, right half blue.
    const pixels = Buffer.from(
      Array.from({ length: 400 * 160 }, (_, i) => (i % 400 < 200 ? [255, 0, 0] : [0, 0, 255])).flat(),
    );
    const bytes = await sharp(pixels, { raw: { width: 400, height: 160, channels: 3 } })
      .png()
      .toBuffer();
    const slot: PictureSlot = { kind: "picture", ...frame, shape: null, fit: "cover", least: 150 };
    const first = async (side: PictureSlot["side"]) => {
      const asked = side ? { ...slot, side } : slot;
      const { value } = await setPicture(asked, { file: "a.png", bytes }, sheet(), press("rgb"));
      const layer = value?.layer.kind === "raster" ? value.layer.raster.data.bytes : undefined;
      return [...(layer?.subarray(0, 3) ?? [])];
    };
    expect(await first(undefined)).toEqual([255, 0, 0]);
    expect(await first("back")).toEqual([0, 0, 255]);
  });

  it("keep the press's register farther from lines: the cut follows the front", () => {
    expect(safeOf(text(), press())).toBe(2000);
    expect(safeOf(text({ side: "back" }), press())).toBe(2500);
    // A code of 16.0 mm in the middle of its box: 2.2 mm from the cut.
    const near = { x: mm(8), y: mm(2.2), width: mm(40), height: mm(16) };
    const code: CodeSlot = { kind: "code", ...frame, box: near, code: "datamatrix", quiet: 0 };
    const rules = (slot: CodeSlot) =>
      setCode(slot, "HL-1", sheet(), press()).findings.map(({ rule, where }) => [rule, where.side]);
    expect(rules(code)).toEqual([]);
    expect(rules({ ...code, side: "back" })).toEqual([["code-near-line", "back"]]);
  });
});

it("takes no more from the front than a piece without a back", async () => {
  const plain = await prepare(piece(green), press());
  const { value } = await prepare(piece(green, { back: { artwork: short } }), press());
  expect(value?.layers).toEqual(plain.value?.layers);
  expect(value?.piece.parts[0]?.outer).toEqual(square(0, 0, 20));
});
