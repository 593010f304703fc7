import { execFileSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { area, mm, perimeter } from "@kitforme/geometry";
import { CutBodies, writeCut } from "@kitforme/files";
import type { Sheet, SheetLine } from "@kitforme/sheet";
import * as fc from "fast-check";
import { PDFArray, PDFDict, PDFDocument, PDFName } from "pdf-lib";
import { beforeAll, describe, expect, it } from "vitest";
import { has, hasPython, inFolder, plates } from "../support/oracle.ts";
import { apart, type ReadLine, readDxf, readHpgl, readSvg, pdfLines } from "../support/read-cut.ts";
import { boardSheet, harbourSheet, marks, placed, sheetOf, stock, wall } from "../support/sheets.ts";

const text = async (sheet: Sheet, format: "svg" | "dxf" | "hpgl"): Promise<string> =>
  new TextDecoder().decode(await writeCut(sheet, format));
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
/** Lines to the micrometre; arcs pass within 1 µm of the points they replace and bow out over chords by at most 5. */
const ARCS = 0.0055;
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

describe("sheets that are cut alike", () => {
  it("have the bytes they would have alone, each with its own name; another geometry is written anew", async () => {
    const bodies = new CutBodies();
    const [next, other] = [
      { ...harbour, sheet: harbour.sheet + 9 },
      { ...harbour, sheet: 3, paths: harbour.paths.slice(1) },
    ];
    for (const format of ["svg", "dxf", "hpgl", "pdf"] as const) {
      const first = Buffer.from(await writeCut(harbour, format, bodies));
      for (const sheet of [next, other]) {
        const written = Buffer.from(await writeCut(sheet, format, bodies));
        expect(written.equals(await writeCut(sheet, format))).toBe(true);
        expect(written.equals(first)).toBe(false);
      }
    }
  });
});

describe("every line is the designer's own, in working order", () => {
  it("in SVG, arcs within 0.0055 mm", async () => {
    const { lines } = readSvg(await writeCut(harbour, "svg"));
    expectSameLines(
      harbour,
      lines.filter((l) => l.layer !== "registration"),
      (l) => l.operation,
      ARCS,
    );
  });

  it("in DXF, arcs within 0.0055 mm", async () => {
    const { lines } = readDxf(await writeCut(harbour, "dxf"));
    expectSameLines(
      harbour,
      lines.filter((l) => l.layer !== "REGISTRATION"),
      (l) => l.operation.toUpperCase(),
      ARCS,
    );
  });

  it("in HP-GL, within its unit", async () => {
    const pens = harbour.stock.cutter.tools;
    expectSameLines(harbour, readHpgl(await writeCut(harbour, "hpgl")), (l) => String(pens[l.operation]?.pen), WITHIN);
  });

  it("for any sheet of random lines", async () => {
    const corner = fc.tuple(fc.integer({ min: 0, max: 450_000 }), fc.integer({ min: 0, max: 450_000 }));
    const lines = fc.array(
      fc.record({
        operation: fc.constant("cutting" as const),
        closed: fc.constant(true),
        points: fc.uniqueArray(corner, { minLength: 4, maxLength: 120, selector: ([x, y]) => `${x >> 6} ${y >> 6}` }),
      }),
      { maxLength: 5 },
    );
    await fc.assert(
      fc.asyncProperty(lines, async (drawn) => {
        const sheet = sheetOf([], {
          lines: drawn.map((l) => ({ ...l, points: l.points.map(([x, y]) => ({ x, y })), placed: 1 })),
        });
        const { tools } = sheet.stock.cutter;
        expectSameLines(sheet, readHpgl(await writeCut(sheet, "hpgl")), (l) => String(tools[l.operation]?.pen), WITHIN);
        const svg = readSvg(await writeCut(sheet, "svg")).lines.filter((l) => l.layer !== "registration");
        expectSameLines(sheet, svg, (l) => l.operation, ARCS);
      }),
      { numRuns: 40, seed: 5 },
    );
  });
});

describe("SVG", () => {
  it("is as large as the sheet in millimetres, one unit to the millimetre", async () => {
    const { attributes } = readSvg(await writeCut(harbour, "svg"));
    expect(attributes).toMatchObject({ width: "320mm", height: "450mm", viewBox: "0 0 320 450" });
  });

  it("has one group per operation in working order, and the marks last", async () => {
    const ids = [...(await text(harbour, "svg")).matchAll(/<g id="([^"]+)"/g)].map((m) => m[1]);
    expect(ids).toEqual(["creasing", "perforating", "partialCutting", "cutting", "registration"]);
  });

  it("has the marks where they are printed", async () => {
    const read = readSvg(await writeCut(harbour, "svg")).lines.filter((l) => l.layer === "registration");
    expect(read.map((l) => l.points[0])).toEqual([
      [12, 15],
      [308, 15],
      [12, 440],
      [308, 440],
      [12, 60],
    ]);
    expect(await text(harbour, "svg")).toContain(`<circle cx="12" cy="435" r="2.5"/>`);
  });

  it("draws a cross as one shape of its size", async () => {
    const sheet = sheetOf([], { marks: marks("cross").slice(0, 1) });
    const [cross] = readSvg(await writeCut(sheet, "svg")).lines;
    const xs = cross?.points.map(([x]) => x) ?? [];
    expect([cross?.points.length, Math.min(...xs), Math.max(...xs)]).toEqual([12, 9.5, 14.5]);
  });
});

describe("DXF", () => {
  it("is in millimetres, with a layer for every operation and for the marks (DXF reference: $INSUNITS 4; R12 layer names, from memory)", async () => {
    const { header, layers } = readDxf(await writeCut(harbour, "dxf"));
    expect(header).toMatchObject({ $ACADVER: "AC1009", $INSUNITS: 4, $MEASUREMENT: 1 });
    expect(layers).toEqual(["0", "CREASING", "PERFORATING", "PARTIALCUTTING", "CUTTING", "REGISTRATION"]);
    expect(layers.every((l) => /^[A-Z0-9$_-]{1,31}$/.test(l))).toBe(true);
  });

  it("holds no entity that R12 does not know (DXF reference, release 12)", async () => {
    expect(await text(harbour, "dxf")).not.toMatch(/LWPOLYLINE|SPLINE|ELLIPSE/);
  });

  it("says pair by pair what the golden vector says (a hand-made file that ezdxf reads without a fault)", async () => {
    const pairs = (await text(golden, "dxf")).split("\r\n");
    const start = pairs.indexOf("POLYLINE", pairs.indexOf("POLYLINE") + 1);
    expect(
      pairs
        .slice(start - 1, start + 24)
        .map((p) => p.trim())
        .join("|"),
    ).toBe("0|POLYLINE|8|CUTTING|66|1|70|1|10|0.000|20|0.000|30|0.0|0|VERTEX|8|CUTTING|10|0.000|20|0.000|30|0.0|0");
  });

  it.runIf(hasPython("ezdxf"))("passes ezdxf's audit, with the areas of the contours (oracle: ezdxf)", async () => {
    const program = [
      "import ezdxf, sys, json",
      "from ezdxf.math import area",
      "from ezdxf.path import make_path",
      "doc = ezdxf.readfile(sys.argv[1]); audit = doc.audit()",
      "shapes = [e for e in doc.modelspace() if e.dxf.layer != 'REGISTRATION' and (e.dxftype() == 'CIRCLE' or e.is_closed)]",
      "print(json.dumps({'errors': len(audit.errors), 'fixes': len(audit.fixes), 'units': doc.units,",
      "  'colours': {l.dxf.name: l.color for l in doc.layers if l.dxf.name in {e.dxf.layer for e in doc.modelspace()}},",
      "  'areas': [3.141592653589793 * e.dxf.radius ** 2 if e.dxftype() == 'CIRCLE' else area(list(make_path(e).flattening(0.0002))) for e in shapes]}))",
    ].join("\n");
    const bytes = await writeCut(harbour, "dxf");
    const read = inFolder((at) => {
      writeFileSync(at("in.dxf"), bytes);
      return JSON.parse(execFileSync("/usr/bin/python3", ["-c", program, at("in.dxf")], { encoding: "utf8" }));
    });
    expect(read).toMatchObject({ errors: 0, fixes: 0, units: 4 });
    // A layer for each operation, told apart by its colour too.
    const operations = [...new Set(harbour.paths.map(({ operation }) => operation.toUpperCase()))];
    const colours = operations.map((operation) => read.colours[operation]);
    expect(colours.every((colour) => Number.isInteger(colour) && colour >= 1 && colour <= 255)).toBe(true);
    expect(new Set(colours).size).toBe(operations.length);
    expect(operations.length).toBeGreaterThan(1);
    const wanted = harbour.lines
      .filter((l) => l.closed)
      .map(({ points }) => ({ area: Math.abs(area(points)) / 1e6, around: perimeter(points) / 1000 }));
    expect(read.areas.length).toBe(wanted.length);
    // Straight contours to 0.01 mm2. An arc bows out by up to 5 µm over the chords that it was drawn from.
    for (const [i, { area, around }] of wanted.entries())
      expect(Math.abs(Math.abs(read.areas[i]) - area)).toBeLessThan(0.01 + around * 0.005);
    // The windows of the walls were circles of 8 mm before they were chords.
    const windows = read.areas.filter((a: number) => Math.abs(Math.abs(a) - Math.PI * 64) < 0.01);
    expect(windows).toHaveLength(4);
  });
});

describe("HP-GL", () => {
  it("is the golden vector, letter for letter (a hand-made file that hp2xx draws true)", async () => {
    expect(await text(golden, "hpgl")).toBe(
      `IN;CO"2f81c0de-1-2";SP2;PU0,1000;PD4000,1000;PU;SP1;PU0,0;PD4000,0,4000,2000,0,2000,0,0;PU;SP0;`,
    );
  });

  it("keeps to the plainest grammar: one IN, commas, no dots, no spaces (HP-GL manuals of several machines)", async () => {
    for (const sheet of [harbour, boardSheet()]) {
      expect(await text(sheet, "hpgl")).toMatch(/^IN;CO"[A-Za-z0-9-]+";(([A-Z]{2})(-?\d+(,-?\d+)*)?;)+$/);
      expect((await text(sheet, "hpgl")).match(/IN/g)).toHaveLength(1);
      expect(await text(sheet, "hpgl")).not.toMatch(/VS|FS/);
    }
  });

  it("rounds half up: 0.0125 mm is one unit, 819.175 mm is 32767 (HP-GL unit: 0.025 mm)", async () => {
    const sheet = sheetOf([], { lines: [line("cutting", false, [0, 0], [819.175, 25.4])], marks: [] });
    expect(await text(sheet, "hpgl")).toContain("PU0,0;PD32767,1016;");
    const half = {
      ...line("cutting", false, [0, 0], [0, 1]),
      points: [
        { x: 12, y: 13 },
        { x: 25, y: 1000 },
      ],
    };
    expect(await text(sheetOf([], { lines: [half] }), "hpgl")).toContain("PU0,1;PD1,40;");
  });

  it("hands over at most 40 points a command", async () => {
    const counts = [...(await text(harbour, "hpgl")).matchAll(/PD([\d,-]+)/g)].map(
      (m) => (m[1] ?? "").split(",").length / 2,
    );
    expect(Math.max(...counts)).toBe(40);
  });

  it("refuses an operation without a pen: such a shop is refused before anything is laid out", async () => {
    const { partialCutting: _, ...tools } = stock().cutter.tools;
    const blunt = { ...harbour, stock: { ...stock(), cutter: { ...stock().cutter, tools } } };
    await expect(writeCut(blunt, "hpgl")).rejects.toThrow("no pen for partialCutting");
  });

  it.runIf(has("hp2xx"))("is drawn by hp2xx at the golden size with two pens (oracle: hp2xx)", async () => {
    const bytes = await writeCut(golden, "hpgl");
    const drawn = inFolder((at) => {
      writeFileSync(at("in.plt"), bytes);
      execFileSync("hp2xx", ["-m", "svg", "-q", "-t", "-f", at("out.svg"), at("in.plt")], { stdio: "pipe" });
      return readFileSync(at("out.svg"), "utf8");
    });
    expect(drawn).toMatch(/283\.46\d/);
    expect(drawn).toMatch(/141\.73\d/);
    expect(drawn.match(/<g /g)?.length).toBeGreaterThanOrEqual(2);
  });
});

describe("a cutter's own axes", () => {
  const corner = line("cutting", false, [10, 20], [110, 20]);
  const onCutter = (axes: Partial<Sheet["stock"]["cutter"]["axes"]>): Sheet => {
    const { cutter, ...rest } = stock();
    return sheetOf([], {
      lines: [corner],
      marks: [],
      stock: { ...rest, cutter: { ...cutter, axes: { ...cutter.axes, ...axes } } },
    });
  };
  // The sheet is 320 x 450 mm; by hand.
  it.each([
    [{}, "PU400,800;PD4400,800"],
    [{ origin: "lowerRight" }, "PU12400,800;PD8400,800"],
    [{ origin: "upperLeft" }, "PU400,17200;PD4400,17200"],
    [{ origin: "upperRight" }, "PU12400,17200;PD8400,17200"],
    [{ swap: true }, "PU800,400;PD800,4400"],
    [{ origin: "lowerRight", swap: true }, "PU800,12400;PD800,8400"],
    [{ offset: [1000, -2000] }, "PU440,720;PD4440,720"],
  ] as const)("%o: HP-GL and DXF count from there, SVG does not change", async (axes, wanted) => {
    const sheet = onCutter(axes);
    expect(await text(sheet, "hpgl")).toContain(wanted);
    const [there] = readDxf(await writeCut(sheet, "dxf")).lines;
    const [, x, y] = /PU(\d+),(\d+)/.exec(wanted) ?? [];
    expect(there?.points[0]).toEqual([Number(x) / 40, Number(y) / 40]);
    expect(await text(sheet, "svg")).toBe(await text(onCutter({}), "svg"));
  });

  it("keeps arcs on their side in every frame: what DXF says, taken back, is the designer's line", async () => {
    for (const origin of ["lowerLeft", "lowerRight", "upperLeft", "upperRight"] as const)
      for (const swap of [false, true]) {
        const { cutter, ...rest } = stock();
        const axes = { origin, swap, offset: [3000, 7000] as const };
        const arch = sheetOf([placed(1, wall(), 33, [150, 330], [])], {
          stock: { ...rest, cutter: { ...cutter, axes } },
          marks: [],
        });
        const lines = readDxf(await writeCut(arch, "dxf")).lines.map((l) => ({
          ...l,
          points: l.points.map(([u, v]): [number, number] => {
            const [a, b] = swap ? [v - 7, u - 3] : [u - 3, v - 7];
            return [origin.endsWith("Right") ? 320 - a : a, origin.startsWith("upper") ? 450 - b : b];
          }),
        }));
        expectSameLines(arch, lines, (l) => l.operation.toUpperCase(), ARCS);
      }
  });
});

describe("PDF", () => {
  const readPdf = async (sheet: Sheet): Promise<PDFDocument> =>
    PDFDocument.load(await writeCut(sheet, "pdf"), { updateMetadata: false });

  it("has a layer per operation with the names of ISO 19593-1 in the layer's own metadata, and one of the marks", async () => {
    const document = await readPdf(harbour);
    const properties = document.catalog.lookup(PDFName.of("OCProperties"), PDFDict);
    const layers = properties.lookup(PDFName.of("OCGs"), PDFArray).asArray();
    const said = layers.map((ref) => {
      const layer = document.context.lookup(ref, PDFDict);
      const steps = layer.lookupMaybe(PDFName.of("GTS_Metadata"), PDFDict);
      return [steps?.get(PDFName.of("GTS_ProcStepsGroup")), steps?.get(PDFName.of("GTS_ProcStepsType"))].map((n) =>
        n instanceof PDFName ? n.asString() : undefined,
      );
    });
    expect(said).toEqual([
      ["/Structural", "/Creasing"],
      ["/Structural", "/Perforating"],
      ["/Structural", "/PartialCutting"],
      ["/Structural", "/Cutting"],
      [undefined, undefined],
    ]);
  });

  it.runIf(has("qpdf"))(
    "draws the designer's lines, read operator by operator from qpdf's plain form (oracle: qpdf)",
    async () => {
      const bytes = await writeCut(harbour, "pdf");
      const plain = inFolder((at) => {
        writeFileSync(at("in.pdf"), bytes);
        execFileSync("qpdf", ["--check", at("in.pdf")], { stdio: "pipe" });
        return execFileSync("qpdf", ["--qdf", "--object-streams=disable", at("in.pdf"), "-"]).toString("latin1");
      });
      const program = /stream\n(\/OC [\s\S]*?)\nendstream/.exec(plain)?.[1] ?? "";
      expectSameLines(
        harbour,
        pdfLines(program),
        (l) => `L${1 + ["creasing", "perforating", "partialCutting", "cutting"].indexOf(l.operation)}`,
        ARCS,
      );
    },
  );

  it.runIf(has("gs"))(
    "puts every operation on an ink of its own and nothing but the marks on a process plate (oracle: Ghostscript, tiffsep)",
    async () => {
      const bytes = await writeCut({ ...harbour, marks: [] }, "pdf");
      const inked = Object.fromEntries(
        Object.entries(plates(bytes, 72)).map(([name, { data }]) => [name, data.some((v) => v < 255)]),
      );
      expect(inked).toEqual({
        Cyan: false,
        Magenta: false,
        Yellow: false,
        Black: false,
        Creasing: true,
        Perforating: true,
        PartialCutting: true,
        Cutting: true,
      });
    },
  );
});

it("names job and sheet in every format", async () => {
  expect(await text(harbour, "svg")).toContain("<title>Job 2f81c0de, sheet 1 of 2</title>");
  expect(await text(harbour, "dxf")).toContain("999\r\nJob 2f81c0de, sheet 1 of 2\r\n");
  expect(await text(harbour, "hpgl")).toContain('CO"2f81c0de-1-2";');
  const pdf = await PDFDocument.load(await writeCut(harbour, "pdf"), { updateMetadata: false });
  expect(pdf.getTitle()).toBe("Job 2f81c0de, sheet 1 of 2: cut");
});

it("keeps the tool down where a path begins where the last one ended (HP-GL)", async () => {
  const sheet = sheetOf([], {
    lines: [line("creasing", false, [0, 0], [10, 0]), line("creasing", false, [10, 0], [10, 30])],
    marks: [],
  });
  expect(await text(sheet, "hpgl")).toContain("SP2;PU0,0;PD400,0;PD400,1200;PU;");
});

it.each(["svg", "dxf", "hpgl", "pdf"] as const)("%s: the same sheet gives the same bytes", async (format) => {
  const other = structuredClone(harbour);
  expect(Buffer.from(await writeCut(other, format)).equals(await writeCut(harbour, format))).toBe(true);
});
