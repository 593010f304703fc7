// The main job through the command, on the demo, held against readers of other hands.
import { execFileSync, spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join } from "node:path";
import sharp from "sharp";
import { renderPage } from "@kitforme/prepress";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { prepareZXingModule, readBarcodes } from "zxing-wasm/reader";
import { bulgedPoints, circlePoints } from "../support/curves.ts";
import { DEMO, DEMO_ORDERS, type Ended, hashes, kitforme } from "../support/command.ts";
import { apart, type Dot, type Ring, ringsOfSvg } from "../support/designer-lines.ts";
import { ghostscript, type Pixels, plates, poppler, sampleAt } from "../support/oracle.ts";
import { oracle } from "../support/promised.ts";
import { referenceTravel } from "../support/travel-reference.ts";

interface Placement {
  kit: string;
  piece: string;
  texts: Record<string, string>;
  turn: number;
  matrix: [number, number, number, number, number, number];
  serves: { order: string; first: number; last: number }[];
}
interface SheetEntry {
  sheet: number;
  stock: string;
  size: [number, number];
  run: number;
  code: string;
  files: { print?: string; cut: Record<string, string>; proof: string };
  marks: { at: [number, number]; shape: string; size: number }[];
  placements: Placement[];
  yield: number;
  cutLength: number;
}
interface JobFile {
  job: string;
  orders: string[];
  sheets: SheetEntry[];
  totals: { sheets: number; layouts: number; yield: number; pieces: number };
}
interface KitFile {
  kit: string;
  pieces: {
    piece: string;
    drawing: string;
    perKit?: number;
    lines: Record<string, string>;
    slots?: { slot: string }[];
  }[];
}

// A CommonJS package whose types promise an ES module: require is what works.
const DxfParser = createRequire(import.meta.url)("dxf-parser") as new () => {
  parseSync(text: string): { entities: unknown[] };
};

const root = mkdtempSync(join(tmpdir(), "kitforme-demo-"));
const out = join(root, "first");
const again = join(root, "again");
const make = (folder: string, orders: readonly string[], ...more: string[]) =>
  kitforme([
    "make",
    "--shop",
    join(DEMO, "shop.json"),
    "--kits",
    join(DEMO, "kits"),
    "--out",
    folder,
    ...more,
    ...orders,
  ]);

let first: Ended;
let second: Ended;
let job: JobFile;
const kits = new Map<string, KitFile>();
const drawings = new Map<string, Ring[]>();

beforeAll(async () => {
  first = await make(out, DEMO_ORDERS, "--json");
  if (first.code !== 0) throw new Error(`the demo was not made: ${first.err}`);
  job = JSON.parse(readFileSync(join(out, "job.json"), "utf8")) as JobFile;
  for (const name of ["harbour-lantern", "pilot-boat", "keepsake"]) {
    const kit = JSON.parse(readFileSync(join(DEMO, "kits", name, "kit.json"), "utf8")) as KitFile;
    kits.set(name, kit);
    for (const piece of kit.pieces)
      drawings.set(`${name}/${piece.piece}`, ringsOfSvg(readFileSync(join(DEMO, "kits", name, piece.drawing), "utf8")));
  }
  // The same orders in another sequence, on one thread: the same job.
  second = await make(again, [...DEMO_ORDERS].reverse(), "--threads", "1");
}, 600_000);

afterAll(() => rmSync(root, { recursive: true, force: true }));

const path = (name: string) => join(out, name);
const piecesOf = (sheet: SheetEntry) => sheet.placements;

/** Millimetres that an arc of DXF may leave the line by that it stands for. */
const ARC = 0.005;

describe("the demo through the command", () => {
  it("is made within 60 s of processor time and 1 GiB in one process", () => {
    expect(first.code).toBe(0);
    // Two cores have 60 s of processor time in 30 s; measured are 44 s (and 33 s by the clock, on an idle machine).
    // Not by the clock, since other tests run beside this one.
    expect(first.cpu).toBeLessThan(60);
    expect(first.resident).toBeLessThan(1024);
    expect(first.err).not.toMatch(/\bat .*:\d+:\d+/); // no stack trace
    expect(first.events.at(-2)).toMatchObject({ event: "done", job: job.job });
  });

  it("prints its notes, to people and to machines", () => {
    const { findings } = JSON.parse(readFileSync(path("job.json"), "utf8")) as {
      findings: { level: string; rule: string; message: string }[];
    };
    const notes = findings.filter(({ level }) => level === "note");
    expect(notes.length).toBeGreaterThan(0);
    for (const { rule, message } of notes) {
      expect(second.out).toContain(`note ${rule}`);
      expect(second.out).toContain(message);
      expect(first.events).toContainEqual(expect.objectContaining({ event: "finding", rule, message }));
    }
  });

  it("gives the same bytes again, whatever the sequence of orders and the threads", () => {
    expect(second.code).toBe(0);
    expect(hashes(again)).toEqual(hashes(out));
  });

  it("makes every ordered piece exactly once, and totals agree", () => {
    const wanted = new Map<string, number>();
    const orderFiles = DEMO_ORDERS.map(
      (file) => JSON.parse(readFileSync(file, "utf8")) as { order: string; lines: { kit: string; quantity: number }[] },
    );
    for (const { order, lines } of orderFiles)
      for (const { kit, quantity } of lines)
        for (const piece of kits.get(kit)?.pieces ?? []) {
          const key = `${order} ${kit}/${piece.piece}`;
          wanted.set(key, (wanted.get(key) ?? 0) + quantity * (piece.perKit ?? 1));
        }
    const served = new Map<string, number[]>();
    for (const sheet of job.sheets)
      for (const { kit, piece, serves } of sheet.placements) {
        expect(serves.length, "a placement that serves nobody").toBeGreaterThan(0);
        expect(serves.reduce((n, s) => n + s.last - s.first + 1, 0)).toBeLessThanOrEqual(sheet.run);
        for (const { order, first: from, last } of serves)
          for (let n = from; n <= last; n++)
            served.set(`${order} ${kit}/${piece}`, [...(served.get(`${order} ${kit}/${piece}`) ?? []), n]);
      }
    expect(new Set(served.keys())).toEqual(new Set(wanted.keys()));
    for (const [key, count] of wanted)
      expect(
        [...(served.get(key) ?? [])].sort((a, b) => a - b),
        key,
      ).toEqual(Array.from({ length: count }, (_, i) => i + 1));
    // Whoever sorts takes an order's pieces from as few sheets as can be: 76 pairs of order and sheet if equal pieces are dealt
    // out order by order, 51 or 52 the least that long searches found.
    const pairs = job.sheets.flatMap((sheet) => [
      ...new Set(sheet.placements.flatMap(({ serves }) => serves.map(({ order }) => order))),
    ]);
    expect(pairs.length).toBeLessThanOrEqual(54);
    expect(job.totals.sheets).toBe(job.sheets.reduce((n, s) => n + s.run, 0));
    expect(job.orders.length).toBe(DEMO_ORDERS.length);
  });

  it("prints every copy the words its order asks for", () => {
    for (const file of DEMO_ORDERS) {
      const { order, lines } = JSON.parse(readFileSync(file, "utf8")) as {
        order: string;
        lines: { kit: string; quantity: number; texts?: Record<string, string>[] }[];
      };
      const copies = new Map<string, (string | undefined)[]>();
      for (const { kit, quantity, texts } of lines)
        copies.set(kit, [
          ...(copies.get(kit) ?? []),
          ...Array.from({ length: quantity }, (_, i) => texts?.[i]?.["boat"]?.normalize("NFC")),
        ]);
      for (const sheet of job.sheets)
        for (const placement of sheet.placements) {
          const piece = kits.get(placement.kit)?.pieces.find((p) => p.piece === placement.piece);
          for (const serve of placement.serves.filter((s) => s.order === order))
            for (let n = serve.first; n <= serve.last; n++) {
              const words = copies.get(placement.kit)?.[Math.ceil(n / (piece?.perKit ?? 1)) - 1];
              expect(placement.texts["boat"]).toBe(piece?.slots?.length ? words : undefined);
            }
        }
    }
  });

  it("places by rigid matrices: a flip of y, a turn, no scaling", () => {
    for (const {
      turn,
      matrix: [a, b, c, d],
    } of job.sheets.flatMap(piecesOf)) {
      expect(a * a + b * b).toBeCloseTo(1, 5);
      expect(a * d - b * c).toBeCloseTo(-1, 5);
      expect(Math.atan2(b, a)).toBeCloseTo(
        Math.atan2(Math.sin((turn * Math.PI) / 180), Math.cos((turn * Math.PI) / 180)),
        4,
      );
    }
  });

  it("cuts the designer's own line within 0.02 mm: SVG read by resvg, DXF by dxf-parser", () => {
    let compared = 0;
    for (const sheet of job.sheets) {
      const height = sheet.size[1];
      const svg = ringsOfSvg(readFileSync(path(sheet.files.cut["svg"] as string), "utf8")).map(
        (r): Ring => ({ ...r, dots: r.dots.map(([x, y]): Dot => [x, height - y]) }),
      );
      const dxf = dxfRings(readFileSync(path(sheet.files.cut["dxf"] as string), "utf8"));
      for (const found of [svg, dxf]) {
        const left = found.filter((r) => r.group.toLowerCase() !== "registration");
        for (const { kit, piece, matrix } of sheet.placements)
          for (const { operation, ring } of linesOf(kit, piece)) {
            const wanted = ring.dots.map(
              ([x, y]): Dot => [matrix[0] * x + matrix[2] * y + matrix[4], matrix[1] * x + matrix[3] * y + matrix[5]],
            );
            const box = boxOf(wanted);
            const at = left.findIndex(
              (r) =>
                r.group.toLowerCase() === operation.toLowerCase() &&
                boxOf(r.dots).every((v, i) => Math.abs(v - (box[i] as number)) < 0.05),
            );
            expect(at, `${operation} of ${kit}/${piece} on sheet ${sheet.sheet}`).toBeGreaterThanOrEqual(0);
            const [match] = left.splice(at, 1) as [Ring];
            expect(match.closed).toBe(ring.closed);
            expect(apart(wanted, match.dots, ring.closed)).toBeLessThan(0.02);
            compared++;
          }
        expect(left, `lines on sheet ${sheet.sheet} that no designer drew`).toEqual([]);
      }
    }
    expect(compared).toBeGreaterThan(200);
  });

  it("has a way with the tool raised of at most 1.05 of nearest neighbour and 2-opt with free starts, sheet by sheet", () => {
    const seen = new Set<string>();
    for (const sheet of job.sheets) {
      const ways = dxfRings(readFileSync(path(sheet.files.cut["dxf"] as string), "utf8")).filter(
        (r) => r.group !== "REGISTRATION",
      );
      const key = JSON.stringify(ways);
      if (seen.has(key)) continue;
      seen.add(key);
      // A circle of DXF does not say where it is begun; HP-GL does.
      let [ours, pen]: [number, Dot] = [0, [0, 0]];
      const hpgl = readFileSync(path(sheet.files.cut["hpgl"] as string), "latin1");
      for (const [, up, way = ""] of hpgl.matchAll(/P([UD])([-\d,]+);/g)) {
        const [x = 0, y = 0] = way
          .split(",")
          .slice(-2)
          .map((units) => Number(units) / 40);
        const to: Dot = [x, y];
        if (up === "U") ours += Math.hypot(to[0] - pen[0], to[1] - pen[1]);
        pen = to;
      }
      // The same rules: one operation after the other, what lies inside a contour before it, begun where a blade does not show.
      let [least, at] = [0, { x: 0, y: 0 }];
      for (const group of new Set(ways.map((r) => r.group))) {
        const own = ways.filter((r) => r.group === group);
        const stops = own.map((way) => ({
          closed: way.closed,
          entries: startsOf(way).map(([x, y]) => ({ x, y })),
          after: way.closed ? own.flatMap((o, i) => (o !== way && holds(way.dots, o.dots[0] as Dot) ? [i] : [])) : [],
        }));
        const reference = referenceTravel(stops, at);
        least += reference.travel;
        at = { ...reference.at };
      }
      expect(ours, `sheet ${sheet.sheet}: ${least}`).toBeLessThanOrEqual(1.05 * least);
    }
    expect(seen.size).toBeGreaterThan(2);
  });

  it("works creases, perforations, partial cuts, cuts in this order in every file", () => {
    const order = ["creasing", "perforating", "partialcutting", "cutting"];
    for (const sheet of job.sheets) {
      const groups = [...readFileSync(path(sheet.files.cut["svg"] as string), "utf8").matchAll(/<g id="(\w+)"/g)]
        .map((m) => (m[1] as string).toLowerCase())
        .filter((g) => g !== "registration");
      expect(groups).toEqual(order.filter((o) => groups.includes(o)));
      const layers = dxfRings(readFileSync(path(sheet.files.cut["dxf"] as string), "utf8"))
        .map((r) => order.indexOf(r.group.toLowerCase()))
        .filter((i) => i >= 0);
      expect(layers).toEqual([...layers].sort((a, b) => a - b));
      const pens = [...readFileSync(path(sheet.files.cut["hpgl"] as string), "latin1").matchAll(/SP([1-4]);/g)].map(
        (m) => ({ 1: 3, 2: 0, 3: 1, 4: 2 })[m[1] as "1"],
      );
      expect(pens).toEqual([...pens].sort((a, b) => Number(a) - Number(b)));
    }
  });

  it("keeps cuts inside the rectangle of the marks, and the marks lopsided under a half turn", () => {
    for (const sheet of job.sheets.filter((s) => s.files.print)) {
      const xs = sheet.marks.map((m) => m.at[0]);
      const ys = sheet.marks.map((m) => m.at[1]);
      expect(sheet.marks.length).toBeGreaterThanOrEqual(4);
      const turned = sheet.marks.map((m) => [sheet.size[0] - m.at[0], sheet.size[1] - m.at[1]]);
      expect(
        turned.every(([x, y]) =>
          sheet.marks.some((m) => Math.hypot(m.at[0] - (x as number), m.at[1] - (y as number)) < 4),
        ),
      ).toBe(false);
      for (const ring of dxfRings(readFileSync(path(sheet.files.cut["dxf"] as string), "utf8")).filter(
        (r) => r.group !== "REGISTRATION",
      ))
        for (const [x, y] of ring.dots) {
          expect(x).toBeGreaterThanOrEqual(Math.min(...xs) - ARC);
          expect(x).toBeLessThanOrEqual(Math.max(...xs) + ARC);
          expect(y).toBeGreaterThanOrEqual(Math.min(...ys) - ARC);
          expect(y).toBeLessThanOrEqual(Math.max(...ys) + ARC);
        }
    }
  });

  it.runIf(oracle("pdftoppm"))(
    "shows its marks within 0.1 mm of where job.json says, and a code that reads back",
    async () => {
      prepareZXingModule({
        overrides: {
          wasmBinary: readFileSync(new URL(import.meta.resolve("zxing-wasm/reader/zxing_reader.wasm"))) as never,
        },
      });
      // Every fourth sheet: they come from one writer, and drawing takes its time.
      for (const sheet of job.sheets.filter((s, i) => s.files.print && i % 4 === 0)) {
        const ppi = 200;
        const png = execFileSync("pdftoppm", ["-r", String(ppi), "-gray", "-png", path(sheet.files.print as string)], {
          maxBuffer: 1 << 28,
        });
        const { data, info } = await sharp(png).greyscale().raw().toBuffer({ resolveWithObject: true });
        expect([info.width, info.height]).toEqual(
          sheet.size.map((mm) => Math.ceil((Math.round((mm / 25.4) * 72 * 1e4) / 1e4 / 72) * ppi - 1e-6)),
        );
        const perMm = ppi / 25.4;
        for (const { at, size } of sheet.marks) {
          const reach = (size / 2 + 1.5) * perMm;
          const [cx, cy] = [at[0] * perMm, info.height - at[1] * perMm];
          let [mass, mx, my] = [0, 0, 0];
          for (let y = Math.floor(cy - reach); y <= cy + reach; y++)
            for (let x = Math.floor(cx - reach); x <= cx + reach; x++) {
              const dark = 255 - (data[y * info.width + x] as number);
              mass += dark;
              mx += dark * (x + 0.5);
              my += dark * (y + 0.5);
            }
          expect(Math.hypot(mx / mass - cx, my / mass - cy) / perMm).toBeLessThan(0.1);
          // As much black as a disc of that size has, give or take black that is not quite 0.
          expect(mass / 255 / perMm ** 2).toBeGreaterThan(Math.PI * (size / 2) ** 2 * 0.75);
        }
        // The lower left corner carries the code.
        const strip = Math.ceil(25 * perMm);
        const corner = await sharp(png)
          .extract({ left: 0, top: info.height - strip, width: info.width >> 1, height: strip })
          .png()
          .toBuffer();
        const codes = await readBarcodes(new Uint8Array(corner), {
          formats: ["DataMatrix"],
          tryHarder: true,
          maxNumberOfSymbols: 4,
        });
        expect(codes.map((c) => c.text)).toContain(sheet.code);
      }
    },
  );

  it.runIf(oracle("qpdf"))(
    "writes print PDFs that qpdf finds sound, filled shapes and artwork only: no line of any tool is printed",
    () => {
      for (const { files } of job.sheets)
        if (files.print) {
          expect(spawnSync("qpdf", ["--check", path(files.print)], { encoding: "utf8" }).stdout).toContain(
            "No syntax or stream encoding errors",
          );
          const plain = execFileSync("qpdf", ["--qdf", "--object-streams=disable", path(files.print), "-"], {
            maxBuffer: 1 << 30,
          }).toString("latin1");
          // The page's own content: what it shows of the designer's drawings are forms of their own, lines and all.
          const streams = [
            ...plain.matchAll(/^%% Contents for page \d+\n[\s\S]*?^stream\n([\s\S]*?)\nendstream/gm),
          ].map((m) => m[1] as string);
          expect(streams.length).toBeGreaterThan(0);
          for (const program of streams)
            expect(program.split("\n").filter((op) => /(^|\s)(S|s|B|b|B\*|b\*)$/.test(op))).toEqual([]);
        }
    },
  );

  it.runIf(oracle("gs"))(
    "separates into the four plates and no other, within the ink limit on every pixel of every sheet, marks in black alone (oracle: Ghostscript tiffsep)",
    () => {
      const ppi = 36;
      const PLATES = ["Black", "Cyan", "Magenta", "Yellow"] as const;
      let heaviest = 0;
      for (const sheet of job.sheets.filter((s) => s.files.print)) {
        const made = plates(readFileSync(path(sheet.files.print as string)), ppi);
        expect(Object.keys(made).sort((a, b) => (a < b ? -1 : 1))).toEqual(PLATES);
        const data = PLATES.map((plate) => made[plate]?.data ?? new Uint8Array());
        for (let i = 0; i < (data[0]?.length ?? 0); i++) {
          let sum = 0;
          for (const plate of data) sum += 255 - (plate[i] as number);
          if (sum > heaviest) heaviest = sum;
        }
        for (const { at } of sheet.marks)
          expect(PLATES.map((plate) => sampleAt(made[plate] as Pixels, ppi, ...at)[0])).toEqual([0, 255, 255, 255]);
      }
      // The demo's press names no limit: 330 % for FOGRA39 (a profile's own limit, by common practice). Every plate may round by half a level.
      expect(heaviest / 2.55).toBeGreaterThan(200);
      expect(heaviest / 2.55).toBeLessThanOrEqual(330.8);
    },
  );

  it.runIf(oracle("gs") && oracle("pdftoppm"))(
    "looks the same to poppler, PDFium and Ghostscript, but for edges (oracles: poppler, Ghostscript)",
    async () => {
      const ppi = 36;
      for (const sheet of job.sheets.filter((s, i) => s.files.print && i % 5 === 0)) {
        const print = readFileSync(path(sheet.files.print as string));
        const [a, b] = [poppler(print, ppi), ghostscript(print, ppi)];
        const c = await renderPage(print, 0, { width: a.width, height: a.height });
        expect([b.width, b.height]).toEqual([a.width, a.height]);
        const dark = ({ data }: { readonly data: Uint8Array }, at: number): number =>
          1 - ((data[at] as number) + (data[at + 1] as number) + (data[at + 2] as number)) / 765;
        let [inked, differ, means] = [0, 0, [0, 0, 0]];
        for (let i = 0; i < a.width * a.height; i++) {
          const all = [dark(a, 3 * i), dark(b, 3 * i), dark(c, 4 * i)];
          means = means.map((sum, k) => sum + (all[k] as number));
          const [least, most] = [Math.min(...all), Math.max(...all)];
          if (most > 0.1) inked++;
          // Three renderers' own ways from CMYK to a screen differ; ink where another has paper may not be.
          if (most > 0.25 && least < 0.05) differ++;
        }
        expect(inked).toBeGreaterThan(20_000);
        expect(differ / inked, `sheet ${sheet.sheet}`).toBeLessThan(0.01);
        for (const mean of means) expect(Math.abs(mean / (means[0] as number) - 1)).toBeLessThan(0.05);
      }
    },
  );

  it.runIf(oracle("hp2xx"))("writes HP-GL that hp2xx draws at the size of the cuts", () => {
    for (const sheet of job.sheets) {
      const file = join(root, "hp.svg");
      execFileSync("hp2xx", ["-m", "svg", "-q", "-t", "-f", file, path(sheet.files.cut["hpgl"] as string)]);
      const dots = dxfRings(readFileSync(path(sheet.files.cut["dxf"] as string), "utf8"))
        .filter((r) => r.group !== "REGISTRATION")
        .flatMap((r) => r.dots);
      const [x0, y0, x1, y1] = boxOf(dots) as [number, number, number, number];
      const size = /viewBox="0 0 ([\d.]+) ([\d.]+)"/.exec(readFileSync(file, "utf8")) as string[];
      const shown = size.slice(1).filter(Boolean).map(Number);
      const points = 72 / 25.4;
      expect(Math.abs((shown[0] as number) - (x1 - x0) * points)).toBeLessThan(1.5);
      expect(Math.abs((shown[1] as number) - (y1 - y0) * points)).toBeLessThan(1.5);
    }
  });

  it("has unprinted stock cut only, with a proof", () => {
    const bare = job.sheets.filter((s) => s.stock === "greyboard");
    expect(bare.length).toBeGreaterThan(0);
    for (const { files } of bare) {
      expect(files.print).toBeUndefined();
      expect(readFileSync(path(files.proof)).subarray(1, 4).toString()).toBe("PNG");
    }
  });
});

/** Corners of a line that is followed all round, and ends of its straight runs; any point where it has neither. */
const startsOf = ({ dots, closed }: Ring): readonly Dot[] => {
  if (!closed) return [dots[0] as Dot, dots.at(-1) as Dot];
  const side = (i: number): Dot => {
    const [p, q] = [dots.at(i - 1) as Dot, dots[i % dots.length] as Dot];
    return [q[0] - p[0], q[1] - p[1]];
  };
  const good = dots.filter((_, i) => {
    const [a, b] = [side(i), side(i + 1)];
    const bend = Math.abs(Math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1]));
    return bend > Math.PI / 6 || Math.hypot(...a) >= 2 || Math.hypot(...b) >= 2;
  });
  return good.length > 0 ? good : dots;
};

/** Whether a point lies in a ring, by the count of edges to its right. */
const holds = (ring: readonly Dot[], [x, y]: Dot): boolean =>
  ring.reduce((odd, [ax, ay], i) => {
    const [bx, by] = ring.at(i - 1) as Dot;
    return ay > y !== by > y && x < ((bx - ax) * (y - ay)) / (by - ay) + ax ? !odd : odd;
  }, false);

const OPERATIONS: Record<string, string> = {
  cutting: "cutting",
  creasing: "creasing",
  perforating: "perforating",
  partialCutting: "partialCutting",
};

const linesOf = (kit: string, piece: string): { operation: string; ring: Ring }[] => {
  const { lines } = (kits.get(kit) as KitFile).pieces.find((p) => p.piece === piece) as KitFile["pieces"][number];
  return Object.entries(lines).flatMap(([operation, selector]) =>
    (drawings.get(`${kit}/${piece}`) ?? [])
      .filter((r) => `#${r.group}` === selector)
      .map((ring) => ({ operation: OPERATIONS[operation] as string, ring })),
  );
};

const boxOf = (dots: readonly Dot[]): number[] => [
  Math.min(...dots.map((d) => d[0])),
  Math.min(...dots.map((d) => d[1])),
  Math.max(...dots.map((d) => d[0])),
  Math.max(...dots.map((d) => d[1])),
];

const dxfRings = (text: string): Ring[] =>
  new DxfParser().parseSync(text).entities.map((entity) => {
    const read = entity as unknown as {
      layer: string;
      shape?: boolean;
      vertices?: { x: number; y: number; bulge?: number }[];
      center: { x: number; y: number };
      radius: number;
    };
    const closed = read.vertices === undefined || read.shape === true;
    const dots = read.vertices
      ? bulgedPoints(read.vertices, closed)
      : circlePoints(read.center.x, read.center.y, read.radius);
    return { group: read.layer, closed, dots: dots.map(([x, y]): Dot => [x, y]) };
  });
