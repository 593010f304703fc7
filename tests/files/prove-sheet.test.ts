// Faults are seeded into written bytes, or the files are written from another sheet than they are proven against.
import { proveSheet, References, writeCut, type WrittenSheet, writePrint } from "@kitforme/files";
import { apply, type Matrix, matrixOf, mm, multiply } from "@kitforme/geometry";
import { outputProfile, type PreparedPiece } from "@kitforme/prepress";
import { impose, type Placed, type Sheet } from "@kitforme/sheet";
import { PDFDocument } from "pdf-lib";
import { beforeAll, describe, expect, it } from "vitest";
import { formeOf } from "../sheet/make.ts";
import { drawnPage, painted, press, sticker, stock, wall, words } from "../support/sheets.ts";

const FORMATS = ["svg", "dxf", "pdf", "hpgl"] as const;
const references = new References();
const profile = outputProfile(press());

const made = async (
  pieces: readonly {
    readonly prepared: PreparedPiece;
    readonly turn?: number;
    readonly at: readonly [number, number];
  }[],
  more: Parameters<typeof formeOf>[1] = {},
): Promise<Sheet> => {
  const forme = formeOf(pieces, { width: mm(210), height: mm(150), ...more });
  const worded = forme.pieces.map((p, i) => ({
    ...p,
    texts: i === 0 && p.prepared === house ? [words("Solveig", 15, 42, 16)] : [],
  }));
  return impose({ ...forme, pieces: worded }, "2f81c0de", stock(), ["HL-2041"]);
};

const written = async (sheet: Sheet): Promise<{ print: Uint8Array; cuts: Record<string, Uint8Array> }> => ({
  print: await writePrint(sheet, { title: "Harbour", profile }),
  cuts: Object.fromEntries(await Promise.all(FORMATS.map(async (f) => [f, await writeCut(sheet, f)] as const))),
});

const checks = async (sheet: Sheet, files: WrittenSheet, level: "marks" | "full" = "full"): Promise<string[]> => [
  ...new Set((await proveSheet(sheet, files, level, references)).faults.map(({ check }) => check)),
];

/** The wall with a picture of 150 pixels an inch: squares of 5 mm on a sky. */
const sky = painted("sky", "cmyk", [396, 342], (x, y) => [
  Math.min(255, 60 + x / 2),
  40 + y / 3,
  ((Math.floor(x / 30) + Math.floor(y / 30)) % 2) * 80,
  0,
]);
const house: PreparedPiece = {
  ...wall(),
  layers: wall().layers.map((l) => (l.kind === "raster" ? { ...l, raster: sky } : l)),
};
let sheet: Sheet;
let good: { print: Uint8Array; cuts: Record<string, Uint8Array> };
beforeAll(async () => {
  sheet = await made([
    { prepared: house, at: [30, 135] },
    { prepared: house, turn: 33, at: [120, 80] },
    { prepared: sticker(await drawnPage()), at: [30, 75] },
  ]);
  good = await written(sheet);
});

/** The same sheet with one placement changed. */
const changed = (number: number, change: (placed: Placed) => Placed): Sheet => ({
  ...sheet,
  placed: sheet.placed.map((p) => (p.number === number ? change(p) : p)),
});
const printed = async (other: Sheet): Promise<WrittenSheet> => ({ ...good, print: (await written(other)).print });
const cutAs = async (other: Sheet): Promise<WrittenSheet> => ({ ...good, cuts: (await written(other)).cuts });
const moved = (by: number) => (p: Placed) => {
  const [a, b, c, d, e, f] = p.matrix;
  return { ...p, matrix: [a, b, c, d, e + by, f] as const };
};
/** About the middle of the wall. */
const about = ({ matrix }: Placed, change: Matrix): Matrix => {
  const [x, y] = apply(matrix, mm(30), mm(25));
  return [[1, 0, 0, 1, -x, -y] as const, change, [1, 0, 0, 1, x, y] as const].reduce<Matrix>(
    (all, next) => multiply(next, all),
    matrix,
  );
};
const scaled = (by: number) => (p: Placed) => ({ ...p, matrix: about(p, [by, 0, 0, by, 0, 0]) });
const askew = (degrees: number) => (p: Placed) => {
  const [cos, sin] = [Math.cos((degrees * Math.PI) / 180), Math.sin((degrees * Math.PI) / 180)];
  return { ...p, matrix: about(p, [cos, sin, -sin, cos, 0, 0]) };
};
const reworked = async (change: (document: PDFDocument) => void): Promise<WrittenSheet> => {
  const document = await PDFDocument.load(good.print, { updateMetadata: false });
  change(document);
  return { ...good, print: await document.save({ useObjectStreams: false }) };
};
const layered = (change: (layer: PreparedPiece["layers"][number]) => PreparedPiece["layers"][number]) => ({
  ...house,
  layers: house.layers.map(change),
});

describe("the proof of written files", () => {
  it("passes a good sheet, and says how far everything is off", async () => {
    const { proof, faults } = await proveSheet(sheet, good, "full", references);
    expect(faults).toEqual([]);
    expect(proof.worst.cut).toBeLessThan(35);
    expect(proof.worst.mark).toBeLessThan(30);
    // 3 mm of bleed, looked at in pixels of 0.17 mm.
    expect(proof.worst.paper).toBeGreaterThan(2700);
    expect(proof.worst.paper).toBeLessThan(3300);
    expect((await proveSheet(sheet, good, "marks", references)).faults).toEqual([]);
  });

  const faults: Record<string, [check: string, files: () => Promise<WrittenSheet>]> = {
    "bleed missing on one edge": [
      "print",
      () => {
        const clip = [
          [-3, 50],
          [63, 50],
          [63, 18.4],
          [30, -3.6],
          [-3, 18.4],
        ].map(([x = 0, y = 0]) => ({ x: mm(x), y: mm(y) }));
        const bare = layered((layer) => ({ ...layer, clip: [clip] }));
        return printed(changed(1, (p) => ({ ...p, prepared: bare })));
      },
    ],
    "a ring missing": [
      "print",
      () =>
        printed(
          changed(1, (p) => ({
            ...p,
            prepared: layered((l) => ({ ...l, clip: house.piece.parts.map((o) => o.outer) })),
          })),
        ),
    ],
    "the artwork of a piece missing": [
      "print",
      () => printed(changed(3, (p) => ({ ...p, prepared: { ...p.prepared, layers: [] } }))),
    ],
    "the contours scaled by 0.2 %": [
      "cut",
      async () => ({
        ...good,
        cuts: {
          ...good.cuts,
          svg: Buffer.from(
            new TextDecoder()
              .decode(good.cuts["svg"])
              .replace(/(?<=[ML ])\d+\.?\d*/g, (n) => (Number(n) * 1.002).toFixed(3)),
          ),
        },
      }),
    ],
    "a placement printed 0.3 mm off": ["print", () => printed(changed(1, moved(300)))],
    "a turned placement printed 0.3 mm off": ["print", () => printed(changed(2, moved(300)))],
    "a round placement printed 0.3 mm off": ["print", () => printed(changed(3, moved(300)))],
    "a placement printed 1 % too large": ["print", () => printed(changed(1, scaled(1.01)))],
    "a placement printed a degree askew": ["print", () => printed(changed(1, askew(1)))],
    "a placement cut 0.3 mm off": [
      "cut",
      () =>
        cutAs({
          ...sheet,
          paths: sheet.paths.map((p) =>
            p.placed === 2 ? { ...p, points: p.points.map(({ x, y }) => ({ x: x + 300, y })) } : p,
          ),
        }),
    ],
    "a letter in the cut file": [
      "cut",
      async () => ({
        ...good,
        cuts: {
          ...good.cuts,
          svg: Buffer.from(
            new TextDecoder().decode(good.cuts["svg"]).replace("<path", '<path d="M40 40L42 44L44 40"/><path'),
          ),
        },
      }),
    ],
    "a mark shifted": [
      "mark",
      () =>
        printed({
          ...sheet,
          marks: sheet.marks.map((m, i) => (i === 2 ? { ...m, at: { ...m.at, x: m.at.x + 100 } } : m)),
        }),
    ],
    "a mark missing": ["mark", () => printed({ ...sheet, marks: sheet.marks.slice(1) })],
    "marks of another shape": [
      "mark",
      () => printed({ ...sheet, marks: sheet.marks.map((m) => ({ ...m, shape: "square" })) }),
    ],
    "another sheet's cut file": ["cut", () => cutAs({ ...sheet, sheet: 2 })],
    "the code of another sheet": [
      "code",
      async () => printed({ ...sheet, inks: (await made([], { sheet: 2, of: 2 })).inks }),
    ],
    "no code": ["code", () => printed({ ...sheet, inks: sheet.inks.slice(1) })],
    "no slug": ["text", () => printed({ ...sheet, inks: sheet.inks.slice(0, 1) })],
    "a plate missing": [
      "print",
      () =>
        printed(
          changed(1, (p) => ({
            ...p,
            prepared: layered((l) => {
              if (l.kind !== "raster") return l;
              const bytes = l.raster.data.bytes.map((v, i) => (i % 4 === 0 ? 0 : v));
              return { ...l, raster: { ...l.raster, id: "without cyan", data: { kind: "raw", bytes } } };
            }),
          })),
        ),
    ],
    "a text dropped": ["text", () => printed(changed(1, (p) => ({ ...p, texts: [] })))],
    "a page mirrored": [
      "mark",
      () =>
        reworked((document) => {
          const page = document.getPage(0);
          page.scaleContent(-1, 1);
          page.translateContent(-page.getWidth(), 0);
        }),
    ],
    "a page box wrong": ["page", () => reworked((document) => document.getPage(0).setCropBox(0, 0, 500, 400))],
    "a page too many": ["page", () => reworked((document) => void document.addPage())],
    "a crease missing": [
      "cut",
      () => cutAs({ ...sheet, paths: sheet.paths.filter((p) => !(p.operation === "creasing" && p.placed === 2)) }),
    ],
    "a crease cut": [
      "cut",
      () =>
        cutAs({
          ...sheet,
          paths: sheet.paths.map((p) =>
            p.operation === "creasing" ? { ...p, operation: "cutting", tool: "cutting" } : p,
          ),
        }),
    ],
    "a cutting line printed": [
      "print",
      () =>
        reworked((document) => {
          document.getPage(0).drawLine({ start: { x: 400, y: 100 }, end: { x: 460, y: 160 }, thickness: 0.5 });
        }),
    ],
    "the pieces in each other's places": [
      "print",
      () =>
        printed(
          changed(1, (p) => ({ ...p, matrix: matrixOf({ degrees: 0, e: p.matrix[4], f: p.matrix[5] - mm(2) }) })),
        ),
    ],
  };
  it.each(Object.entries(faults))("catches %s", async (_, [check, files]) => {
    expect(await checks(sheet, await files())).toContain(check);
  });

  it("catches a text over a cut, and bleed that its own picture lacks", async () => {
    const over = changed(1, (p) => ({ ...p, texts: [words("Solveig", 45, 49, 16)] }));
    expect(await checks(over, await written(over))).toContain("text");
    const bare = layered((l) => ({ ...l, clip: house.piece.parts.map((o) => o.outer) }));
    const short = changed(1, (p) => ({ ...p, prepared: bare }));
    const { faults: found, proof } = await proveSheet(short, await written(short), "full", new References());
    expect(found.map(({ check }) => check)).toContain("paper");
    expect(proof.worst.paper).toBeLessThan(400);
  });
});

describe("good random sheets", () => {
  const count = process.env["KITFORME_PROOF"] === "long" ? 200 : 6;
  it(`raise no alarm: ${count}`, { timeout: 1_000_000 }, async () => {
    let state = 7;
    const next = (): number => (state = (state * 48_271) % 2_147_483_647) / 2_147_483_647;
    for (let i = 0; i < count; i++) {
      const page = await drawnPage();
      const pieces = [68, 165].map((x) => {
        const prepared = next() < 0.7 ? house : sticker(page);
        const turn = [0, 90, 180, 270, next() * 360][Math.floor(next() * 5)] ?? 0;
        // Turned about its middle, so that it stays clear of the other and of the marks.
        const middle = prepared === house ? ([mm(30), mm(25)] as const) : ([mm(20), mm(20)] as const);
        const [u, v] = apply(matrixOf({ degrees: turn, e: 0, f: 0 }), ...middle);
        return { prepared, turn, at: [x + next() - u / 1000, 78 + next() - v / 1000] as const };
      });
      const random = await made(pieces, { width: mm(240), sheet: 1 + (i % 3), of: 3 });
      const { faults: found } = await proveSheet(random, await written(random), "full", references);
      expect(found, JSON.stringify({ i, pieces: pieces.map(({ turn, at }) => [turn, ...at]) })).toEqual([]);
    }
  });
});
