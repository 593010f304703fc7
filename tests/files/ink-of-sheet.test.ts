// How much ink lies on a sheet: against plain geometry, and against the plates that Ghostscript makes of the print PDF.
import { inkOfSheet, writePrint } from "@kitforme/files";
import { mm } from "@kitforme/geometry";
import { outputProfile, prepare, type PreparedPiece, setPicture } from "@kitforme/prepress";
import type { Placed } from "@kitforme/sheet";
import { PDFDict, PDFName } from "pdf-lib";
import sharp from "sharp";
import { beforeAll, describe, expect, it } from "vitest";
import { drawing, file, page, piece, press } from "../prepress/artwork-samples.ts";
import { has, plates } from "../support/oracle.ts";
import { placed, round, sheetOf, words } from "../support/sheets.ts";

/** A square of 20 mm: solid inks below, and a paler stripe over its upper half; 2 mm of bleed. */
let solid: PreparedPiece;
let drawnSquare: PreparedPiece;
beforeAll(async () => {
  const bytes = await page("1 .5 0 .2 k -9 -9 99 99 re f 0 .1 .4 0 k -9 28.3465 99 99 re f");
  const one = await prepare(piece(file("pdf", bytes)), press());
  const two = await prepare(piece(drawing('<rect x="-5" y="-5" width="30" height="30" fill="#2277aa"/>')), press());
  if (!one.value || !two.value) throw new Error("the squares are good");
  [solid, drawnSquare] = [one.value, two.value];
});

const SHEET = { width: mm(60), height: mm(60), marks: [], inks: [] };

/** From paper to what stands for a red. */
const RAMP = { FunctionType: 2, Domain: [0, 1], C0: [0, 0, 0, 0], C1: [0, 1, 0.9, 0.1], N: 1 };

describe("the ink of a sheet", () => {
  it("is each plate's area over the sheet's, and the sum where most lies", () => {
    const ink = inkOfSheet(sheetOf([placed(1, solid, 0, [20, 40], [])], SHEET), "front");
    // 24 x 12 mm in each half, its bleed included, on 60 x 60 mm.
    const half = (100 * 24 * 12) / 3600;
    expect(ink?.mean.cyan).toBeCloseTo(half, 0);
    expect(ink?.mean.magenta).toBeCloseTo(0.5 * half + 0.1 * half, 0);
    expect(ink?.mean.yellow).toBeCloseTo(0.4 * half, 0);
    expect(ink?.mean.black).toBeCloseTo(0.2 * half, 0);
    expect(ink?.max).toBeCloseTo(170, -0.5);
  });

  it("adds black letters to what lies under them, for they overprint; others knock it out", () => {
    const withWords = (ink: Parameters<typeof words>[4]) =>
      inkOfSheet(sheetOf([placed(1, solid, 0, [20, 40], [], [words("MMMM", 2, 18, 24, ink)])], SHEET), "front");
    const bare = inkOfSheet(sheetOf([placed(1, solid, 0, [20, 40], [])], SHEET), "front");
    const black = withWords({ space: "cmyk", c: 0, m: 0, y: 0, k: 1 });
    expect(black?.max).toBeGreaterThan((bare?.max ?? 0) + 15);
    expect(black?.max).toBeLessThan(270);
    expect(withWords({ space: "cmyk", c: 0, m: 1, y: 0, k: 0 })?.max).toBeLessThan(175);
  });

  it("counts the marks of the front by their area in black", () => {
    const marks = [
      { at: { x: mm(10), y: mm(10) }, shape: "disc", size: mm(5) },
      { at: { x: mm(50), y: mm(10) }, shape: "square", size: mm(5) },
      { at: { x: mm(50), y: mm(50) }, shape: "cross", size: mm(5) },
    ] as const;
    const ink = inkOfSheet(sheetOf([], { ...SHEET, marks }), "front");
    // A cross of 5 mm with arms of 1 mm covers 9 mm2.
    expect(ink?.mean.black).toBeCloseTo((100 * (Math.PI * 2.5 ** 2 + 25 + 9)) / 3600, 2);
    expect(ink?.max).toBe(100);
  });

  it("is nothing where it is not printed, and is not said of a press without four inks", () => {
    expect(inkOfSheet(sheetOf([], SHEET), "front")).toEqual({
      max: 0,
      mean: { cyan: 0, magenta: 0, yellow: 0, black: 0 },
    });
    const sheet = sheetOf([placed(1, solid, 0, [20, 40], [])], SHEET);
    expect(inkOfSheet({ ...sheet, stock: { ...sheet.stock, press: press("rgb") } }, "front")).toBeUndefined();
    expect(inkOfSheet(sheet, "back")).toBeUndefined();
  });

  /** A buyer's picture over the middle of the square, in a round frame that reaches into the bleed. */
  const photo = async () => {
    const pixels = Uint8Array.from({ length: 240 * 200 * 3 }, (_, i) => [200 - (i % 720) / 6, 90, i / 720][i % 3] ?? 0);
    const bytes = new Uint8Array(
      await sharp(pixels, { raw: { width: 240, height: 200, channels: 3 } })
        .png()
        .toBuffer(),
    );
    const slot = {
      kind: "picture",
      slot: "photo",
      box: { x: mm(6.3), y: mm(3.2), width: mm(17), height: mm(14) },
      shape: round(15, 10, 8),
      fit: "cover",
      least: 50,
      safe: 0,
    } as const;
    const { value } = await setPicture(slot as never, { file: "a.png", bytes }, piece(null), press());
    if (!value) throw new Error("the picture is good");
    return value;
  };
  const rimmed = (colour: "black" | "red") => ({
    ...words(
      "MOST",
      1,
      16,
      20,
      colour === "black" ? { space: "cmyk", c: 0, m: 0, y: 0, k: 1 } : { space: "cmyk", c: 0, m: 1, y: 0.9, k: 0 },
    ),
    rim: { ink: { space: "cmyk", c: 0.1, m: 0, y: 0.8, k: 0 }, width: mm(0.6) } as const,
  });
  const grounded = {
    ...words("WM", 10, 17, 14, { space: "cmyk", c: 0, m: 0, y: 0, k: 1 }),
    ground: {
      ink: { space: "cmyk", c: 0, m: 0, y: 0, k: 0 } as const,
      outlines: "M 8000 10500 L 22000 10500 L 22000 19500 L 8000 19500 Z",
    },
  };

  it("hides what lies under a buyer's picture, under a ground and under a rim", async () => {
    const inkWith = (more: Partial<Placed>) =>
      inkOfSheet(sheetOf([{ ...placed(1, solid, 0, [20, 40], []), ...more }], SHEET), "front");
    const bare = inkWith({});
    // White paper over all of the square.
    const ground = { ...grounded.ground, outlines: "M -2000 -2000 L 22000 -2000 L 22000 22000 L -2000 22000 Z" };
    const blank = inkWith({ texts: [{ ...words(".", 5, 5, 6), outlines: "", ground }] });
    expect(bare?.max).toBeGreaterThan(169);
    expect(blank).toEqual({ max: 0, mean: { cyan: 0, magenta: 0, yellow: 0, black: 0 } });
    const over = inkWith({ pictures: [await photo()] });
    expect(over?.mean.cyan).toBeLessThan((bare?.mean.cyan ?? 0) - 0.5);
    expect(over?.mean.magenta).toBeGreaterThan((bare?.mean.magenta ?? 0) + 1);
  });

  it.runIf(has("gs"))(
    "agrees with the plates within half a percent with pictures, rims and grounds (oracle: Ghostscript tiffsep)",
    async () => {
      const picture = await photo();
      const sheet = sheetOf(
        [
          { ...placed(1, solid, 90, [5, 25], [], [rimmed("red")]), pictures: [picture] },
          placed(2, drawnSquare, 0, [32, 55], [], [grounded]),
          { ...placed(3, solid, 0, [32, 28], [], [rimmed("black")]), pictures: [] },
        ],
        SHEET,
      );
      const made = plates(await writePrint(sheet, { title: "Ink", profile: outputProfile(press()) }), 288);
      const ink = inkOfSheet(sheet, "front");
      for (const plate of ["Cyan", "Magenta", "Yellow", "Black"] as const) {
        const data = made[plate]?.data ?? new Uint8Array();
        const mean = data.reduce((sum, value) => sum + 255 - value, 0) / data.length / 2.55;
        const ours = ink?.mean[plate.toLowerCase() as "cyan"] ?? Number.NaN;
        expect(Math.abs(ours - mean), `${plate}: ${ours} and ${mean}`).toBeLessThan(0.5);
      }
    },
  );

  it.runIf(has("gs"))(
    "counts spot inks that stay on plates of their own, and on none of the four (oracle: Ghostscript tiffsep)",
    async () => {
      // Two spots, one in a DeviceN with black; a tint over process inks knocks them out.
      const bytes = await page(
        "0.3 0 0.6 0 k -9 -9 99 99 re f /Red cs 0.8 scn 6 20 45 34 re f /Duo cs 1 0.5 scn 20 3 34 25 re f",
        { ColorSpace: { Red: ["Separation", "House Red", "DeviceCMYK", RAMP] } },
        {},
        (document) => {
          const { context } = document;
          const mixed = { FunctionType: 4, Domain: [0, 1, 0, 1], Range: [0, 1, 0, 1, 0, 1, 0, 1] };
          const code = context.register(context.stream("{ exch dup 0.7 mul 3 -1 roll 0 exch }", mixed));
          const spaces = document.getPage(0).node.Resources()?.lookup(PDFName.of("ColorSpace"), PDFDict);
          spaces?.set(PDFName.of("Duo"), context.obj(["DeviceN", ["House Blue", "Black"], "DeviceCMYK", code]));
        },
      );
      const { value } = await prepare(piece(file("pdf", bytes)), press());
      if (!value) throw new Error("the spots are good");
      const sheet = sheetOf([placed(1, value, 0, [20, 40], [], [words("MM", 3, 12, 24)])], SHEET);
      const made = plates(await writePrint(sheet, { title: "Spots", profile: outputProfile(press()) }), 288);
      const ink = inkOfSheet(sheet, "front");
      const meanOf = (plate: string): number => {
        const data = made[plate]?.data ?? new Uint8Array();
        return data.reduce((sum, value) => sum + 255 - value, 0) / data.length / 2.55;
      };
      expect(Object.keys(ink?.mean.spots ?? {})).toEqual(["House Blue", "House Red"]);
      for (const spot of ["House Blue", "House Red"]) {
        expect(meanOf(spot)).toBeGreaterThan(2);
        expect(Math.abs((ink?.mean.spots?.[spot] ?? NaN) - meanOf(spot)), spot).toBeLessThan(0.2);
      }
      for (const plate of ["Cyan", "Magenta", "Yellow", "Black"] as const) {
        const ours = ink?.mean[plate.toLowerCase() as "cyan"] ?? NaN;
        expect(Math.abs(ours - meanOf(plate)), `${plate}: ${ours} and ${meanOf(plate)}`).toBeLessThan(0.3);
      }
    },
  );

  it.runIf(has("gs"))(
    "agrees with the plates of the print PDF within half a percent (oracle: Ghostscript tiffsep)",
    async () => {
      const text = words("MMMM", 2, 18, 24);
      const sheet = sheetOf(
        [placed(1, solid, 90, [5, 25], [], [text]), placed(2, drawnSquare, 0, [32, 55], [])],
        SHEET,
      );
      const made = plates(await writePrint(sheet, { title: "Ink", profile: outputProfile(press()) }), 144);
      const ink = inkOfSheet(sheet, "front");
      for (const plate of ["Cyan", "Magenta", "Yellow", "Black"] as const) {
        const data = made[plate]?.data ?? new Uint8Array();
        const mean = data.reduce((sum, value) => sum + 255 - value, 0) / data.length / 2.55;
        const ours = ink?.mean[plate.toLowerCase() as "cyan"] ?? Number.NaN;
        expect(mean).toBeGreaterThan(1);
        expect(Math.abs(ours - mean), `${plate}: ${ours} and ${mean}`).toBeLessThan(0.5);
      }
    },
  );
});
