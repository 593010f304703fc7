// Faults are seeded into written bytes, or the files are written from another sheet than they are proven against.
import { proveSheet, References, sayFaults, writeCut, type WrittenSheet } from "@kitforme/files";
import { apply, type Matrix, matrixOf, mm, multiply } from "@kitforme/geometry";
import type { PreparedPiece } from "@kitforme/prepress";
import type { Placed, Sheet } from "@kitforme/sheet";
import { PDFDocument } from "pdf-lib";
import { setTimeout } from "node:timers/promises";
import { setFlagsFromString } from "node:v8";
import { runInNewContext } from "node:vm";
import { beforeAll, describe, expect, it } from "vitest";
import { house, made, written } from "../support/proven.ts";
import { drawnPage, sticker, words } from "../support/sheets.ts";

const references = new References();

const checks = async (sheet: Sheet, files: WrittenSheet, level: "marks" | "full" = "full"): Promise<string[]> => [
  ...new Set((await proveSheet(sheet, files, level, references)).faults.map(({ check }) => check)),
];

let sheet: Sheet;
let good: { print: Uint8Array; cuts: Record<string, Uint8Array> };
beforeAll(async () => {
  sheet = await made([
    { prepared: house, at: [30, 135], texts: [words("Solveig", 15, 42, 16)] },
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
const withPdf = (pdf: Uint8Array): WrittenSheet => ({ ...good, cuts: { ...good.cuts, pdf } });
/** Every first number of a pair is an x. */
const shifted = (ink: Sheet["inks"][number], by: number): Sheet["inks"][number] => {
  let n = 0;
  return {
    ...ink,
    outlines: ink.outlines.replace(/-?\d+\.?\d*/g, (u) => String(Number(u) + (n++ % 2 === 0 ? by : 0))),
  };
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

/** Left, bottom, right, top in millimetres of the sheet: where the faults of a check must be named. */
type Place = readonly [left: number, bottom: number, right: number, top: number];
const FIRST: Place = [26, 79, 94, 140];
const SECOND: Place = [113, 32, 204, 120];
const THIRD: Place = [26, 31, 74, 79];
const ANYWHERE: Place = [0, 0, 210, 150];

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

  const faults: Record<string, [check: string, files: () => Promise<WrittenSheet>, places?: Place]> = {
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
      FIRST,
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
      FIRST,
    ],
    "the artwork of a piece missing": [
      "print",
      () => printed(changed(3, (p) => ({ ...p, prepared: { ...p.prepared, layers: [] } }))),
      THIRD,
    ],
    "a contour scaled by 0.2 %": [
      "cut",
      () =>
        cutAs({
          ...sheet,
          paths: sheet.paths.map((p) => {
            const [x, y] = apply(sheet.placed[1]?.matrix ?? matrixOf({ degrees: 0, e: 0, f: 0 }), mm(30), mm(25));
            const grown = p.points.map((q) => ({
              x: Math.round(x + 1.002 * (q.x - x)),
              y: Math.round(y + 1.002 * (q.y - y)),
            }));
            return p.placed === 2 ? { ...p, points: grown } : p;
          }),
        }),
      SECOND,
    ],
    "a placement printed 0.3 mm off": ["print", () => printed(changed(1, moved(300))), FIRST],
    "a turned placement printed 0.3 mm off": ["print", () => printed(changed(2, moved(300))), SECOND],
    "a round placement printed 0.3 mm off": ["print", () => printed(changed(3, moved(300))), THIRD],
    "a placement printed 1 % too large": ["print", () => printed(changed(1, scaled(1.01))), FIRST],
    "a placement printed 0.2 % too large": ["print", () => printed(changed(1, scaled(1.002))), FIRST],
    "a turned placement printed 0.2 % too large": ["print", () => printed(changed(2, scaled(1.002))), SECOND],
    "a round placement printed 0.2 % too large": ["print", () => printed(changed(3, scaled(1.002))), THIRD],
    "a placement printed a degree askew": ["print", () => printed(changed(1, askew(1))), FIRST],
    "a placement cut 0.3 mm off": [
      "cut",
      () =>
        cutAs({
          ...sheet,
          paths: sheet.paths.map((p) =>
            p.placed === 2 ? { ...p, points: p.points.map(({ x, y }) => ({ x: x + 300, y })) } : p,
          ),
        }),
      SECOND,
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
      [39, 105, 45, 111],
    ],
    "a mark shifted": [
      "mark",
      () =>
        printed({
          ...sheet,
          marks: sheet.marks.map((m, i) => (i === 2 ? { ...m, at: { ...m.at, x: m.at.x + 100 } } : m)),
        }),
      ANYWHERE,
    ],
    "a mark missing": ["mark", () => printed({ ...sheet, marks: sheet.marks.slice(1) }), ANYWHERE],
    "marks of another shape": [
      "mark",
      () => printed({ ...sheet, marks: sheet.marks.map((m) => ({ ...m, shape: "square" })) }),
      ANYWHERE,
    ],
    "another sheet's cut file": ["cut", () => cutAs({ ...sheet, sheet: 2 })],
    "the code of another sheet": [
      "code",
      async () => printed({ ...sheet, inks: (await made([], { sheet: 2, of: 2 })).inks }),
      ANYWHERE,
    ],
    "no code": ["code", () => printed({ ...sheet, inks: sheet.inks.slice(1) }), ANYWHERE],
    "no slug": ["text", () => printed({ ...sheet, inks: sheet.inks.slice(0, 1) }), ANYWHERE],
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
      FIRST,
    ],
    "a text dropped": ["text", () => printed(changed(1, (p) => ({ ...p, texts: [] }))), FIRST],
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
    "a line too many in the cut PDF": [
      "cut",
      async () => {
        const line = sheet.paths.find((p) => p.placed === 3);
        if (!line) throw new Error("a sticker without a line");
        const more = { ...line, points: line.points.map(({ x, y }) => ({ x: x + mm(1), y })) };
        return withPdf(await writeCut({ ...sheet, paths: [...sheet.paths, more] }, "pdf"));
      },
      THIRD,
    ],
    "a piece 0.1 mm off in the cut PDF": [
      "cut",
      async () => {
        const paths = sheet.paths.map((p) =>
          p.placed === 1 ? { ...p, points: p.points.map(({ x, y }) => ({ x, y: y + 100 })) } : p,
        );
        return withPdf(await writeCut({ ...sheet, paths }, "pdf"));
      },
      FIRST,
    ],
    "lines of the cut PDF that knock out the print": [
      "cut",
      async () => {
        const pdf = Buffer.from(good.cuts["pdf"] ?? []).toString("latin1");
        return withPdf(Buffer.from(pdf.replace("/OP true", "/OP null"), "latin1"));
      },
    ],
    "the code 0.3 mm from its place": [
      "code",
      () => printed({ ...sheet, inks: sheet.inks.map((ink, i) => (i === 0 ? shifted(ink, 300) : ink)) }),
      ANYWHERE,
    ],
    "the slug 0.3 mm from its place": [
      "text",
      () => printed({ ...sheet, inks: sheet.inks.map((ink, i) => (i === 1 ? shifted(ink, 300) : ink)) }),
      ANYWHERE,
    ],
    "a crease missing": [
      "cut",
      () => cutAs({ ...sheet, paths: sheet.paths.filter((p) => !(p.operation === "creasing" && p.placed === 2)) }),
      SECOND,
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
      ANYWHERE,
    ],
    "a cutting line printed": [
      "print",
      () =>
        reworked((document) => {
          document.getPage(0).drawLine({ start: { x: 400, y: 100 }, end: { x: 460, y: 160 }, thickness: 0.5 });
        }),
      [140, 34, 164, 58],
    ],
    "a piece two millimetres low": [
      "print",
      () =>
        printed(
          changed(1, (p) => ({ ...p, matrix: matrixOf({ degrees: 0, e: p.matrix[4], f: p.matrix[5] - mm(2) }) })),
        ),
      FIRST,
    ],
  };
  it("has 25 faults and more to be tried with", () => {
    expect(Object.keys(faults).length).toBeGreaterThanOrEqual(25);
  });

  it.each(Object.entries(faults))("catches %s", async (_, [check, files, places]) => {
    // What does not take the whole picture is found with the marks already.
    const level = ["mark", "code", "cut", "page"].includes(check) ? "marks" : "full";
    const found = (await proveSheet(sheet, await files(), level, references)).faults.filter((f) => f.check === check);
    expect(found.length).toBeGreaterThan(0);
    const message = sayFaults("sheet-001", found);
    expect(message).toContain("sheet-001 did not pass the proof");
    // The page as a whole has no place.
    if (check === "page" || !places) return;
    for (const { at } of found) {
      const [x = Number.NaN, y = Number.NaN] = at ? [at.x / 1000, at.y / 1000] : [];
      const [left, bottom, right, top] = places;
      expect(x >= left && x <= right && y >= bottom && y <= top, `${x}, ${y}: ${message}`).toBe(true);
    }
    expect(message).toMatch(/ at -?\d+\.\d, -?\d+\.\d mm/);
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

it("remembers of a piece no more pixels than it counts: not those that its reference was made of", async () => {
  setFlagsFromString("--expose-gc");
  const collect = runInNewContext("gc") as () => void;
  /** Bytes of all buffers in use, once two collections in a row find the same: what the tests before left goes in its own time. */
  const settled = async () => {
    for (let last = Number.NaN, left = 50; left > 0; left -= 1) {
      collect();
      await setTimeout(20);
      const now = process.memoryUsage().arrayBuffers;
      if (now === last) return now;
      last = now;
    }
    throw new Error("the buffers in use do not settle");
  };
  const kept = new References();
  const { press } = sheet.stock;
  if (!press) throw new Error("an unprinted sheet");
  await kept.of(house, press, "front", []);
  const before = await settled();
  let counted = 0;
  for (const name of ["a", "b", "c"]) {
    const other = { ...house, piece: { ...house.piece, piece: name } };
    const reference = await kept.of(other, press, "front", []);
    counted += 5.7 * reference.colour.length;
    reference.limits(false);
  }
  const held = (await settled()) - before;
  expect(held).toBeGreaterThan(0.8 * counted);
  expect(held).toBeLessThan(1.1 * counted);
  // Still at hand, so nothing was let go before it was measured, and asking for it again makes nothing.
  await kept.of(house, press, "front", []);
  expect((await settled()) - before).toBeLessThan(1.1 * counted);
});
