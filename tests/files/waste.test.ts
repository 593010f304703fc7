// What is printed in the waste for the press: where it lies, on which plates, and what is said where it has no room.
import { checkPrint, proveSheet, References, writeCut, writePrint } from "@kitforme/files";
import { mm } from "@kitforme/geometry";
import type { Press } from "@kitforme/kit";
import { outputProfile, prepare, type PreparedPiece } from "@kitforme/prepress";
import { bothSides, fieldOf, impose, type Sheet, verifySheet } from "@kitforme/sheet";
import { beforeAll, describe, expect, it } from "vitest";
import { wasteFull } from "../../packages/run/src/waste-full.ts";
import { cut, formeOf, rectangle } from "../sheet/make.ts";
import { file, page, piece, press as plain } from "../prepress/artwork-samples.ts";
import { has, plates, poppler, sampleAt } from "../support/oracle.ts";
import { stock } from "../support/sheets.ts";

const ALL = { colourBar: true, registerTarget: true, scaleBar: true } as const;
const press = (more: Partial<Press> = {}): Press => ({ ...plain(), bleed: mm(2), ...ALL, ...more });
const size = { width: mm(160), height: mm(150) };

/** A square of 20 mm in half a spot ink over a quarter of cyan. */
let tile: PreparedPiece;
beforeAll(async () => {
  const spot = ["Separation", "Harbour Red", "DeviceCMYK"];
  const tint = { FunctionType: 2, Domain: [0, 1], C0: [0, 0, 0, 0], C1: [0, 1, 0.8, 0], N: 1 };
  const bytes = await page(".25 0 0 0 k -9 -9 99 99 re f /S cs .5 scn 0 0 28 99 re f", {
    ColorSpace: { S: [...spot, tint] },
  });
  const lines = [cut(rectangle(0, 0, 20, 20))];
  const { value } = await prepare(piece(file("pdf", bytes), { lines }), plain());
  if (!value) throw new Error("the tile is good");
  tile = value;
});

const sheetWith = async (
  printed: Press,
  pieces: Parameters<typeof formeOf>[0] = [{ prepared: tile, at: [60, 80] }],
  more: Parameters<typeof formeOf>[1] = {},
): Promise<Sheet> => {
  const sheet = await impose(formeOf(pieces, { ...size, ...more }), "2f81c0de", stock(printed), ["HL-2041"]);
  verifySheet(sheet);
  return sheet;
};
const printOf = (sheet: Sheet, printed: Press) =>
  writePrint(sheet, { title: "Waste", profile: outputProfile(printed) });
const boxesOf = (sheet: Sheet, item: string) => sheet.waste?.placed.filter((one) => one.item === item) ?? [];
const middle = ({ x, y, width, height }: { x: number; y: number; width: number; height: number }) =>
  [(x + width / 2) / 1000, (y + height / 2) / 1000] as const;

describe("the waste of a sheet", () => {
  it("carries nothing that the press does not ask for, and the layout's room is the same with all of it", async () => {
    const none = await sheetWith({ ...press(), colourBar: false, registerTarget: false, scaleBar: false });
    expect(none.waste).toBeUndefined();
    expect(none.inks).toHaveLength(2);
    expect(fieldOf(stock(press()), size)).toEqual(fieldOf(stock(plain()), size));
  });

  it("has the bar, a target at each end and the ruler clear of everything, by a second look", async () => {
    const sheet = await sheetWith(press());
    expect(sheet.waste?.left).toEqual([]);
    expect(boxesOf(sheet, "colourBar")).toHaveLength(1);
    expect(boxesOf(sheet, "scaleBar")).toHaveLength(1);
    const targets = boxesOf(sheet, "registerTarget").map(({ box }) => box);
    expect(targets).toHaveLength(2);
    expect(
      Math.hypot((targets[0]?.x ?? 0) - (targets[1]?.x ?? 0), (targets[0]?.y ?? 0) - (targets[1]?.y ?? 0)),
    ).toBeGreaterThan(mm(80));
    const [bar] = sheet.waste?.placed ?? [];
    const moved = { item: "colourBar", box: { ...bar?.box, x: mm(60), y: mm(64) } } as never;
    expect(() => verifySheet({ ...sheet, waste: { left: [], placed: [moved] } })).toThrow(
      /cutting of piece 1 runs through the colourBar/,
    );
    const onMark = {
      item: "scaleBar",
      box: { x: sheet.marks[0]?.at.x, y: sheet.marks[0]?.at.y, width: 10, height: 10 },
    };
    expect(() => verifySheet({ ...sheet, waste: { left: [], placed: [onMark as never] } })).toThrow(
      /lies on the free zone of mark 1/,
    );
  });

  it("gives way to pieces: what has no room is left out and reported with the sheet, the size and the remedy", async () => {
    const bare = (width: number, height: number): PreparedPiece => {
      const outline = rectangle(0, 0, width, height);
      const parts = [{ outer: outline, openings: [] }];
      return { piece: piece(null, { lines: [cut(outline)], parts }), reach: parts, layers: [], bleed: null };
    };
    const pieces = [
      { prepared: bare(100, 14), at: [10, 30] },
      { prepared: bare(88, 9), at: [16, 40] },
    ] as const;
    const full = await sheetWith(press(), pieces, { width: mm(120), height: mm(48) });
    const [finding] = wasteFull([full]);
    expect(full.waste?.left.map(({ item }) => item)).toContain("colourBar");
    expect(finding).toMatchObject({ level: "note", rule: "waste-full", where: { stock: "card", sheet: 1 } });
    expect(finding?.message).toMatch(/no room for the colour bar: it takes 10 x 20 mm at least/);
    expect(finding?.hint).not.toBe("");
  });

  it("stands on both sides where there is a back, but for the ruler", async () => {
    const back = { artwork: null, slots: [] };
    const two = {
      ...tile,
      piece: { ...tile.piece, back },
      back: { layers: tile.layers, bleed: null, spots: tile.spots ?? {} },
    };
    const printed = press({ sides: 2 });
    const sheet = await impose(
      formeOf([{ prepared: two, at: [60, 80] }], size),
      "2f81c0de",
      bothSides(stock(printed), size),
      [],
    );
    verifySheet(sheet);
    const items = sheet.back?.inks.flatMap(({ item }) => item ?? []);
    expect(new Set(items)).toEqual(new Set(["colourBar", "registerTarget"]));
    expect(await checkPrint(await printOf(sheet, printed), { ...sheet, pages: 2, condition: true })).toEqual([]);
  });

  it("passes the checklist and the proof; the proof misses a patch that is not printed", async () => {
    const printed = press();
    const sheet = await sheetWith(printed);
    const print = await printOf(sheet, printed);
    expect(await checkPrint(print, { ...sheet, pages: 1, condition: true })).toEqual([]);
    const cuts = { svg: await writeCut(sheet, "svg") };
    const references = new References();
    expect((await proveSheet(sheet, { print, cuts }, "full", references)).faults).toEqual([]);
    const less = await printOf(
      { ...sheet, inks: sheet.inks.filter(({ item }, i) => item !== "colourBar" || i > 2) },
      printed,
    );
    const { faults } = await proveSheet(sheet, { print: less, cuts }, "full", references);
    expect(faults.map(({ what }) => what)).toEqual(["a patch of the colour bar is not found in the print"]);
  });

  it.runIf(has("gs"))(
    "has each ink's patch on its own plate alone, the targets on all (oracle: Ghostscript tiffsep)",
    async () => {
      const printed = press();
      const sheet = await sheetWith(printed);
      const made = plates(await printOf(sheet, printed), 150);
      const names = ["Cyan", "Magenta", "Yellow", "Black", "Harbour Red"];
      expect(Object.keys(made).sort()).toEqual([...names].sort());
      const bar = sheet.inks.filter(({ item }) => item === "colourBar");
      expect(bar).toHaveLength(10);
      bar.forEach(({ outlines }, i) => {
        const [x = 0, y = 0] = (/M (\S+) (\S+)/.exec(outlines) ?? []).slice(1).map(Number);
        const seen = names.map(
          (name) => sampleAt(made[name] as never, 150, x / 1000 + 2.5, y / 1000 + 2.5)[0] as number,
        );
        seen.forEach((value, plate) => {
          const wanted = plate !== Math.floor(i / 2) ? 255 : i % 2 === 0 ? 0 : 127;
          expect(Math.abs(value - wanted), `patch ${i}, plate ${names[plate]}`).toBeLessThanOrEqual(2);
        });
      });
      for (const { box } of boxesOf(sheet, "registerTarget"))
        for (const name of names) expect(sampleAt(made[name] as never, 150, ...middle(box))[0], name).toBeLessThan(60);
    },
  );

  it.each(["rgb", "grey"] as const)("is one grey on a press of %s, as the marks are", async (colour) => {
    const lines = [cut(rectangle(0, 0, 20, 20))];
    const bare: PreparedPiece = { piece: piece(null, { lines }), reach: tile.piece.parts, layers: [], bleed: null };
    const printed = press({ colour });
    const sheet = await sheetWith(printed, [{ prepared: bare, at: [60, 80] }]);
    const print = await printOf(sheet, printed);
    expect(await checkPrint(print, { ...sheet, pages: 1, condition: false })).toEqual([]);
    const { data, channels } = poppler(print, 72);
    let coloured = 0;
    for (let i = 0; i < data.length; i += channels) if (data[i] !== data[i + 1] || data[i] !== data[i + 2]) coloured++;
    expect(coloured).toBe(0);
    const bar = boxesOf(sheet, "colourBar")[0]?.box;
    expect((bar?.width ?? 0) * (bar?.height ?? 0)).toBe(mm(10) * mm(5));
  });

  it("measures 100 mm from the first stroke of the ruler to the last", async () => {
    const sheet = await sheetWith(press());
    const [ink] = sheet.inks.filter(({ item }) => item === "scaleBar");
    const [box] = boxesOf(sheet, "scaleBar");
    const along = box && box.box.width > box.box.height ? 0 : 1;
    const starts = [...(ink?.outlines ?? "").matchAll(/M (\S+) (\S+) L/g)]
      .slice(1, 12)
      .map((m) => Number(m[1 + along]));
    expect(Math.abs((starts.at(-1) ?? 0) - (starts[0] ?? 0))).toBe(mm(100));
  });
});
