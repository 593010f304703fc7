import { execFileSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { mm } from "@kitforme/geometry";
import { writeCut } from "@kitforme/files";
import type { Sheet, SheetLine } from "@kitforme/sheet";
import * as fc from "fast-check";
import { beforeAll, describe, expect, it } from "vitest";
import { has, hasPython, inFolder } from "../support/oracle.ts";
import { apart, type ReadLine, readDxf, readHpgl, readSvg } from "../support/read-cut.ts";
import { boardSheet, harbourSheet, marks, sheetOf, stock } from "../support/sheets.ts";

const text = (sheet: Sheet, format: "svg" | "dxf" | "hpgl"): string =>
  new TextDecoder().decode(writeCut(sheet, format));
const line = (operation: SheetLine["operation"], closed: boolean, ...points: [number, number][]): SheetLine => ({
  operation,
  closed,
  points: points.map(([x, y]) => ({ x: mm(x), y: mm(y) })),
  placed: 1,
});

/** The rectangle and the crease of the golden vectors, made by hand and read back by hp2xx and ezdxf: 100 x 50 mm, creased across the middle. */
const golden = sheetOf([], {
  lines: [line("creasing", false, [0, 25], [100, 25]), line("cutting", true, [0, 0], [100, 0], [100, 50], [0, 50])],
  marks: [],
});

let harbour: Sheet;
beforeAll(async () => {
  harbour = await harbourSheet();
});

/** Contract: the cut contour is within 0.02 mm everywhere. */
const WITHIN = 0.02;
const expectSameLines = (
  sheet: Sheet,
  read: readonly ReadLine[],
  layerOf: (l: SheetLine) => string,
  within: number,
) => {
  expect(read.length).toBe(sheet.lines.length);
  for (const [i, wanted] of sheet.lines.entries()) {
    const got = read[i] as ReadLine;
    expect([i, got.layer, got.closed]).toEqual([i, layerOf(wanted), wanted.closed]);
    const points = wanted.points.map((p): [number, number] => [p.x / 1000, p.y / 1000]);
    expect(apart(points, got.points, wanted.closed)).toBeLessThanOrEqual(within);
  }
};

describe("every line is the designer's own, in working order", () => {
  it("in SVG, to the micrometre", () => {
    const { lines } = readSvg(writeCut(harbour, "svg"));
    expectSameLines(
      harbour,
      lines.filter((l) => l.layer !== "registration"),
      (l) => l.operation,
      1e-9,
    );
  });

  it("in DXF, to the micrometre", () => {
    const { lines } = readDxf(writeCut(harbour, "dxf"));
    expectSameLines(
      harbour,
      lines.filter((l) => l.layer !== "REGISTRATION"),
      (l) => l.operation.toUpperCase(),
      1e-9,
    );
  });

  it("in HP-GL, within its unit", () => {
    const pens = harbour.stock.cutter.tools;
    expectSameLines(harbour, readHpgl(writeCut(harbour, "hpgl")), (l) => String(pens[l.operation]?.pen), WITHIN);
  });

  it("for any sheet of random lines", () => {
    const corner = fc.tuple(fc.integer({ min: 0, max: 450_000 }), fc.integer({ min: 0, max: 450_000 }));
    const lines = fc.array(
      fc.record({
        operation: fc.constant("cutting" as const),
        closed: fc.constant(true),
        points: fc.uniqueArray(corner, { minLength: 4, maxLength: 120, selector: ([x, y]) => `${x >> 6} ${y >> 6}` }),
      }),
      { maxLength: 5 },
    );
    fc.assert(
      fc.property(lines, (drawn) => {
        const sheet = sheetOf([], {
          lines: drawn.map((l) => ({ ...l, points: l.points.map(([x, y]) => ({ x, y })), placed: 1 })),
        });
        const { tools } = sheet.stock.cutter;
        expectSameLines(sheet, readHpgl(writeCut(sheet, "hpgl")), (l) => String(tools[l.operation]?.pen), WITHIN);
        const svg = readSvg(writeCut(sheet, "svg")).lines.filter((l) => l.layer !== "registration");
        expectSameLines(sheet, svg, (l) => l.operation, 1e-9);
      }),
      { numRuns: 40, seed: 5 },
    );
  });
});

describe("SVG", () => {
  it("is as large as the sheet in millimetres, one unit to the millimetre", () => {
    const { attributes } = readSvg(writeCut(harbour, "svg"));
    expect(attributes).toMatchObject({ width: "320mm", height: "450mm", viewBox: "0 0 320 450" });
  });

  it("has one group per operation in working order, and the marks last", () => {
    const ids = [...text(harbour, "svg").matchAll(/<g id="([^"]+)"/g)].map((m) => m[1]);
    expect(ids).toEqual(["creasing", "perforating", "partialCutting", "cutting", "registration"]);
  });

  it("has the marks where they are printed", () => {
    const read = readSvg(writeCut(harbour, "svg")).lines.filter((l) => l.layer === "registration");
    expect(read.map((l) => l.points[0])).toEqual([
      [12, 15],
      [308, 15],
      [12, 440],
      [308, 440],
      [12, 60],
    ]);
    expect(text(harbour, "svg")).toContain(`<circle cx="12" cy="435" r="2.5"/>`);
  });

  it("draws a cross as one shape of its size", () => {
    const sheet = sheetOf([], { marks: marks("cross").slice(0, 1) });
    const [cross] = readSvg(writeCut(sheet, "svg")).lines;
    const xs = cross?.points.map(([x]) => x) ?? [];
    expect([cross?.points.length, Math.min(...xs), Math.max(...xs)]).toEqual([12, 9.5, 14.5]);
  });
});

describe("DXF", () => {
  it("is in millimetres, with a layer for every operation and for the marks (DXF reference: $INSUNITS 4; R12 layer names, from memory)", () => {
    const { header, layers } = readDxf(writeCut(harbour, "dxf"));
    expect(header).toMatchObject({ $ACADVER: "AC1009", $INSUNITS: 4, $MEASUREMENT: 1 });
    expect(layers).toEqual(["0", "CREASING", "PERFORATING", "PARTIALCUTTING", "CUTTING", "REGISTRATION"]);
    expect(layers.every((l) => /^[A-Z0-9$_-]{1,31}$/.test(l))).toBe(true);
  });

  it("holds no entity that R12 does not know (DXF reference, release 12)", () => {
    expect(text(harbour, "dxf")).not.toMatch(/LWPOLYLINE|SPLINE|ELLIPSE/);
  });

  it("says pair by pair what the golden vector says (a hand-made file that ezdxf reads without a fault)", () => {
    const pairs = text(golden, "dxf").split("\r\n");
    const start = pairs.indexOf("POLYLINE", pairs.indexOf("POLYLINE") + 1);
    expect(
      pairs
        .slice(start - 1, start + 24)
        .map((p) => p.trim())
        .join("|"),
    ).toBe("0|POLYLINE|8|CUTTING|66|1|70|1|10|0.000|20|0.000|30|0.0|0|VERTEX|8|CUTTING|10|0.000|20|0.000|30|0.0|0");
  });

  it.runIf(hasPython("ezdxf"))("passes ezdxf's audit, with the areas of the contours (oracle: ezdxf)", () => {
    const program = [
      "import ezdxf, sys, json",
      "from ezdxf.math import area",
      "doc = ezdxf.readfile(sys.argv[1]); audit = doc.audit()",
      "polys = [e for e in doc.modelspace().query('POLYLINE') if e.is_closed]",
      "print(json.dumps({'errors': len(audit.errors), 'fixes': len(audit.fixes), 'units': doc.units,",
      "  'areas': [area([v.dxf.location for v in e.vertices]) for e in polys]}))",
    ].join("\n");
    const read = inFolder((at) => {
      writeFileSync(at("in.dxf"), writeCut(harbour, "dxf"));
      return JSON.parse(execFileSync("/usr/bin/python3", ["-c", program, at("in.dxf")], { encoding: "utf8" }));
    });
    expect(read).toMatchObject({ errors: 0, fixes: 0, units: 4 });
    const wanted = harbour.lines
      .filter((l) => l.closed)
      .map(({ points }) =>
        Math.abs(
          points.reduce((sum, p, i) => {
            const q = points[(i + 1) % points.length] ?? p;
            return sum + (p.x * q.y - q.x * p.y) / 2e6;
          }, 0),
        ),
      );
    expect(read.areas.length).toBe(wanted.length);
    for (const [i, area] of wanted.entries()) expect(Math.abs(read.areas[i]) - area).toBeCloseTo(0, 2);
  });
});

describe("HP-GL", () => {
  it("is the golden vector, letter for letter (a hand-made file that hp2xx draws true)", () => {
    expect(text(golden, "hpgl")).toBe("IN;SP2;PU0,1000;PD4000,1000;PU;SP1;PU0,0;PD4000,0,4000,2000,0,2000,0,0;PU;SP0;");
  });

  it("keeps to the plainest grammar: one IN, commas, no dots, no spaces (HP-GL manuals of several machines)", () => {
    for (const sheet of [harbour, boardSheet()]) {
      expect(text(sheet, "hpgl")).toMatch(/^(IN;)(([A-Z]{2})(-?\d+(,-?\d+)*)?;)+$/);
      expect(text(sheet, "hpgl").match(/IN/g)).toHaveLength(1);
      expect(text(sheet, "hpgl")).not.toMatch(/VS|FS/);
    }
  });

  it("rounds half up: 0.0125 mm is one unit, 819.175 mm is 32767 (HP-GL unit: 0.025 mm)", () => {
    const sheet = sheetOf([], { lines: [line("cutting", false, [0, 0], [819.175, 25.4])], marks: [] });
    expect(text(sheet, "hpgl")).toContain("PU0,0;PD32767,1016;");
    const half = {
      ...line("cutting", false, [0, 0], [0, 1]),
      points: [
        { x: 12, y: 13 },
        { x: 25, y: 1000 },
      ],
    };
    expect(text(sheetOf([], { lines: [half] }), "hpgl")).toContain("PU0,1;PD1,40;");
  });

  it("hands over at most 40 points a command", () => {
    const counts = [...text(harbour, "hpgl").matchAll(/PD([\d,-]+)/g)].map((m) => (m[1] ?? "").split(",").length / 2);
    expect(Math.max(...counts)).toBe(40);
  });

  it("refuses an operation without a pen: such a shop is refused before anything is laid out", () => {
    const { partialCutting: _, ...tools } = stock().cutter.tools;
    const blunt = { ...harbour, stock: { ...stock(), cutter: { ...stock().cutter, tools } } };
    expect(() => writeCut(blunt, "hpgl")).toThrow("no pen for partialCutting");
  });

  it.runIf(has("hp2xx"))("is drawn by hp2xx at the golden size with two pens (oracle: hp2xx)", () => {
    const drawn = inFolder((at) => {
      writeFileSync(at("in.plt"), writeCut(golden, "hpgl"));
      execFileSync("hp2xx", ["-m", "svg", "-q", "-t", "-f", at("out.svg"), at("in.plt")], { stdio: "pipe" });
      return readFileSync(at("out.svg"), "utf8");
    });
    expect(drawn).toMatch(/283\.46\d/);
    expect(drawn).toMatch(/141\.73\d/);
    expect(drawn.match(/<g /g)?.length).toBeGreaterThanOrEqual(2);
  });
});

it.each(["svg", "dxf", "hpgl"] as const)("%s: the same sheet gives the same bytes", (format) => {
  const other = structuredClone(harbour);
  expect(Buffer.from(writeCut(other, format)).equals(writeCut(harbour, format))).toBe(true);
});
