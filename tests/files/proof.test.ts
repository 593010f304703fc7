import { alikeSheets, ProofLayers, writePrint, writeProof } from "@kitforme/files";
import { outputProfile, renderPage } from "@kitforme/prepress";
import type { Outline } from "@kitforme/geometry";
import type { Sheet } from "@kitforme/sheet";
import sharp from "sharp";
import { beforeAll, describe, expect, it } from "vitest";
import {
  boardSheet,
  drawn,
  harbourSheet,
  insert,
  piece,
  placed,
  press,
  rect,
  sheetOf,
  stock,
  words,
} from "../support/sheets.ts";

interface Picture {
  readonly width: number;
  readonly height: number;
  readonly channels: number;
  readonly data: Buffer;
}

const open = async (png: Uint8Array): Promise<Picture> => {
  const { data, info } = await sharp(png).raw().toBuffer({ resolveWithObject: true });
  return { ...info, data };
};

/** Pixels of the proof to the millimetre of the sheet. */
const PER_MM = 96 / 25.4;
const at = ({ width, channels, data }: Picture, sheet: Sheet, x: number, y: number): number[] => {
  const row = Math.round((sheet.height / 1000 - y) * PER_MM);
  return [...data.subarray((row * width + Math.round(x * PER_MM)) * channels).subarray(0, 3)];
};
const near = (pixel: readonly number[], colour: string): boolean => {
  const wanted = [1, 3, 5].map((i) => Number.parseInt(colour.slice(i, i + 2), 16));
  return pixel.every((v, i) => Math.abs(v - (wanted[i] ?? 0)) <= 40);
};

let harbour: Sheet;
let print: Uint8Array;
let png: Uint8Array;
let proof: Picture;
beforeAll(async () => {
  harbour = await harbourSheet();
  print = await writePrint(harbour, { title: "Harbour", profile: outputProfile(press()) });
  png = await writeProof(harbour, print);
  proof = await open(png);
});

describe("the proof", () => {
  it("is about 96 pixels per inch of the sheet with a strip under it, and never beyond 4000", async () => {
    expect(proof.width).toBe(Math.round(320 * PER_MM));
    expect(proof.height).toBeGreaterThan(Math.round(450 * PER_MM));
    const large = await open(await writeProof({ ...boardSheet(), width: 1_200_000, height: 700_000 }, null));
    expect(large.width).toBe(4000);
    const tall = await open(await writeProof({ ...boardSheet(), width: 700_000, height: 1_200_000 }, null));
    expect(tall.height).toBe(4000);
  });

  it("is the same bytes for the same sheet", async () => {
    expect(Buffer.from(await writeProof(structuredClone(harbour), print)).equals(png)).toBe(true);
  });

  it("shows what prints, pixel for pixel, wherever no line or number lies", async () => {
    const height = Math.round(450 * PER_MM);
    const page = await renderPage(print, 0, { width: proof.width, height });
    const bare = await open(await writeProof({ ...harbour, lines: [], placed: [], marks: [] }, print));
    let differ = 0;
    // The sheet's frame takes the outermost pixels.
    for (let y = 4; y < height - 4; y++)
      for (let x = 4; x < proof.width - 4; x++)
        for (let c = 0; c < 3; c++)
          if (bare.data[(y * bare.width + x) * bare.channels + c] !== page.data[(y * page.width + x) * 4 + c]) differ++;
    expect(differ).toBe(0);
  });

  it("is the same picture where artwork is drawn once for sheets that differ in their words", async () => {
    const [first] = harbour.placed;
    if (!first) throw new Error("an empty sheet");
    const other: Sheet = { ...harbour, sheet: 2, placed: [{ ...first, texts: [] }, ...harbour.placed.slice(1)] };
    const layers = new ProofLayers(alikeSheets([harbour, other, { ...harbour, sheet: 3 }]));
    const shared = await open(await writeProof(harbour, print, { layers }));
    let most = 0;
    for (let i = 0; i < shared.data.length; i++)
      most = Math.max(most, Math.abs((shared.data[i] as number) - (proof.data[i] as number)));
    // Edges of letters are mixed with what is under them in eight bits twice.
    expect(most).toBeLessThanOrEqual(4);
    // Alone in its job, it is drawn from its own print PDF: here one that is empty.
    const empty = await writePrint({ ...harbour, placed: [], inks: [], marks: [] }, { title: "", profile: null });
    const alone = await open(await writeProof(other, empty, { layers }));
    expect(alone.data.equals(shared.data)).toBe(false);
    expect((await open(await writeProof(harbour, empty, { layers }))).data.equals(shared.data)).toBe(true);
  });

  it("draws every line over it in its own colour", () => {
    // Solid cut, on the outline's left edge; a crease and its gap repeat along the line, so one of its places is colour.
    const along = (operation: string): number[][] => {
      const line = harbour.lines.find((l) => l.operation === operation);
      const [a, b] = [line?.points[0], line?.points[1]];
      if (!a || !b) throw new Error(`no ${operation} on the sheet`);
      return Array.from({ length: 60 }, (_, i) => {
        const t = (i + 0.5) / 60;
        return at(proof, harbour, (a.x + t * (b.x - a.x)) / 1000, (a.y + t * (b.y - a.y)) / 1000);
      });
    };
    expect(along("creasing").some((p) => near(p, "#1f7a8c"))).toBe(true);
    expect(along("perforating").some((p) => near(p, "#5b7f2b"))).toBe(true);
    const cut = harbour.lines.findLast((l) => l.operation === "cutting" && l.placed === 1)?.points ?? [];
    const hits = cut.map((p) => at(proof, harbour, p.x / 1000, p.y / 1000)).filter((p) => near(p, "#b5482a"));
    expect(hits.length).toBeGreaterThanOrEqual(cut.length - 1);
    const kiss = harbour.lines.find((l) => l.operation === "partialCutting")?.points ?? [];
    expect(kiss.some((p) => near(at(proof, harbour, p.x / 1000, p.y / 1000), "#7a5ea8"))).toBe(true);
  });

  it("shows unprinted stock in the colour of board, so that it is not taken for white card", async () => {
    const board = await open(await writeProof(boardSheet(), null));
    expect(at(board, harbour, 150, 200)).toEqual([216, 210, 199]);
  });

  it("numbers every part of every piece, away from its words", async () => {
    // A piece's number is a pale disc with a dark ring: counted by what changes when the number does.
    const renumbered = { ...harbour, placed: harbour.placed.map((p) => ({ ...p, number: p.number + 4 })) };
    const other = await open(await writeProof(renumbered, print));
    const changed = (x0: number, y0: number, x1: number, y1: number): number => {
      let count = 0;
      for (let y = y0; y < y1; y += 0.2)
        for (let x = x0; x < x1; x += 0.2)
          if (at(proof, harbour, x, y).join() !== at(other, harbour, x, y).join()) count++;
      return count;
    };
    expect(changed(30, 370, 90, 420)).toBeGreaterThan(10);
    const [words] = harbour.placed[0]?.texts ?? [];
    if (!words) throw new Error("the first wall bears a name");
    const [left, bottom] = [30 + words.box.x / 1000, 420 - (words.box.y + words.box.height) / 1000];
    expect(changed(left, bottom, left + words.box.width / 1000, bottom + words.box.height / 1000)).toBe(0);
  });

  it("finds room for a number beside words in the middle and beside openings", async () => {
    const frame = {
      outer: drawn([0, 60], [60, 60], [60, 0], [0, 0]),
      openings: [drawn([10, 10], [50, 10], [50, 50], [10, 50])],
    };
    const full = { outer: frame.outer, openings: [] };
    const bare = (parts: readonly Outline<"drawing">[]) => ({ ...insert(), piece: piece("part", [60, 60], parts, []) });
    const name = { ...words("x", 0, 0, 1), box: rect(10, 25, 40, 10) };
    const sheet = (shift: number) =>
      sheetOf(
        [
          placed(1 + shift, bare([frame]), 0, [20, 100], []),
          placed(2 + shift, bare([full]), 0, [100, 100], [], [name]),
        ],
        {
          stock: stock(null),
          inks: [],
          marks: [],
        },
      );
    const [a, b] = [await open(await writeProof(sheet(0), null)), await open(await writeProof(sheet(4), null))];
    const changed = (x0: number, y0: number, x1: number, y1: number): number => {
      let count = 0;
      for (let y = y0; y < y1; y += 0.2)
        for (let x = x0; x < x1; x += 0.2) if (at(a, harbour, x, y).join() !== at(b, harbour, x, y).join()) count++;
      return count;
    };
    expect(changed(20, 40, 80, 100)).toBeGreaterThan(10);
    expect(changed(30, 50, 70, 90)).toBe(0);
    expect(changed(100, 40, 160, 100)).toBeGreaterThan(10);
    expect(changed(110, 65, 150, 75)).toBe(0);
  });

  it("writes in the strip what each line means, for the operations of this sheet only", async () => {
    const ink = (picture: Picture, fromX: number, toX: number): number => {
      let dark = 0;
      for (let y = Math.round(468 * PER_MM); y < picture.height; y++)
        for (let x = Math.round(fromX * PER_MM); x < toX * PER_MM; x++)
          if ((picture.data[(y * picture.width + x) * picture.channels] ?? 255) < 200) dark++;
      return dark;
    };
    const plain = await open(await writeProof(sheetOf([]), print));
    expect(ink(plain, 6, 310)).toBe(0);
    for (const column of [0, 1, 2, 3]) expect(ink(proof, 6 + column * 77, 6 + column * 77 + 60)).toBeGreaterThan(50);
    expect(ink(await open(await writeProof(boardSheet(), null)), 6 + 77, 310)).toBe(0);
  });
});
