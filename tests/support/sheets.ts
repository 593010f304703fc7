// Sheets built by hand, so that writers are tested without layout, prepress or imposition.
import { type Contour, matrixOf, mm, type Outline, type Path, placeAll, type Rect } from "@kitforme/geometry";
import { type Line, OPERATIONS, type Piece, type Press, type Stock } from "@kitforme/kit";
import {
  BLACK,
  type Ink,
  type Layer,
  type Page,
  type PreparedPiece,
  type Raster,
  type SetText,
  setLine,
} from "@kitforme/prepress";
import { type Mark, type Placed, type Serve, type Sheet, type SheetLine, toolPaths, workOf } from "@kitforme/sheet";
import { cmyk, PDFDocument } from "pdf-lib";

export const press = (colour: Press["colour"] = "cmyk"): Press => ({
  name: "digital",
  margins: { top: mm(5), right: mm(5), bottom: mm(8), left: mm(5) },
  resolution: 300,
  bleed: mm(3),
  colour,
  register: mm(0.5),
});

export const stock = (printed: Press | null = press()): Stock => ({
  stock: printed ? "card" : "greyboard",
  title: printed ? "White card 270 g/m2" : "Greyboard 1 mm, unprinted",
  sheets: [{ width: mm(320), height: mm(450) }],
  caliper: mm(0.34),
  grain: "long",
  press: printed,
  cutter: {
    name: "flatbed",
    formats: ["svg", "dxf", "hpgl"],
    tolerance: mm(1),
    clearance: mm(1),
    margins: { top: mm(5), right: mm(5), bottom: mm(5), left: mm(5) },
    marks: { shape: "disc", size: mm(5), clear: mm(2), along: 0 },
    least: { bridge: 1000, opening: 3000, corner: 1000 },
    bareClearance: mm(1),
    tools: { cutting: { pen: 1 }, creasing: { pen: 2 }, perforating: { pen: 3 }, partialCutting: { pen: 4 } },
    axes: { origin: "lowerLeft", swap: false, offset: [0, 0] },
    path: { overcut: 0, bladeOffset: 0, tabs: null, dash: {} },
  },
});

type Corner = readonly [x: number, y: number];
/** A ring or line from corners in millimetres of the drawing. */
export const drawn = (...corners: readonly Corner[]): Contour<"drawing"> =>
  corners.map(([x, y]) => ({ x: mm(x), y: mm(y) }));

/** A circle of `n` corners, millimetres of the drawing. */
export const round = (x: number, y: number, r: number, n = 96): Contour<"drawing"> =>
  drawn(
    ...Array.from({ length: n }, (_, i): Corner => {
      const turn = (2 * Math.PI * i) / n;
      return [x + r * Math.cos(turn), y + r * Math.sin(turn)];
    }),
  );

const line = (operation: Line["operation"], closed: boolean, points: Path<"drawing">): Line => ({
  operation,
  closed,
  points,
});

/** A picture whose every pixel is `paint(x, y)`, channel values from 0 to 255. */
export const painted = (
  id: string,
  space: Raster["space"],
  [width, height]: readonly [number, number],
  paint: (x: number, y: number) => readonly number[],
  profile?: Uint8Array,
): Raster => {
  const bytes = Uint8Array.from(
    Array.from({ length: width * height }, (_, i) => paint(i % width, Math.floor(i / width))).flat(),
  );
  return { id, width, height, space, data: { kind: "raw", bytes }, ...(profile ? { profile } : {}) };
};

export const rect = (x: number, y: number, width: number, height: number): Rect => ({
  x: mm(x),
  y: mm(y),
  width: mm(width),
  height: mm(height),
});

export const piece = (
  name: string,
  [width, height]: Corner,
  parts: readonly Outline<"drawing">[],
  lines: readonly Line[],
  more: Partial<Piece> = {},
): Piece => ({
  kit: "harbour-lantern",
  piece: name,
  perKit: 1,
  stock: "card",
  size: { width: mm(width), height: mm(height) },
  parts,
  lines,
  artwork: null,
  turns: "any",
  spread: "nearest",
  slots: [],
  ...more,
});

/** A gabled wall of 60 x 50 mm with a round window, two creases, a perforation and CMYK artwork with 3 mm of bleed. */
export const wall = (): PreparedPiece => {
  const outer = drawn([0, 50], [60, 50], [60, 20], [30, 0], [0, 20]);
  const opening = [...round(30, 25, 8)];
  const reach = [{ outer: drawn([-3, 53], [63, 53], [63, 18.4], [30, -3.6], [-3, 18.4]), openings: [] }];
  const sky = painted("wall-sky", "cmyk", [66, 57], (x, y) => [Math.min(255, 60 + 3 * x), 40 + 2 * y, (x * y) % 90, 0]);
  return {
    piece: piece(
      "wall",
      [60, 50],
      [{ outer, openings: [opening] }],
      [
        line("creasing", false, drawn([0, 20], [60, 20])),
        line("creasing", false, drawn([0, 45], [60, 45])),
        line("perforating", false, drawn([10, 20], [10, 45])),
        line("cutting", true, opening),
        line("cutting", true, outer),
      ],
      { perKit: 4, artwork: null },
    ),
    reach,
    layers: [
      {
        kind: "raster",
        raster: sky,
        box: rect(-3, -4, 66, 57),
        clip: reach.map((r) => r.outer),
      },
    ],
    bleed: { wanted: mm(3), least: mm(3), own: 0, made: 400e6 },
  };
};

/** A sticker of 40 mm, kiss-cut within, its artwork a page of a PDF. */
export const sticker = (page: Page): PreparedPiece => {
  const outer = round(20, 20, 20);
  const layer: Layer = { kind: "page", page, box: rect(-3, -3, 46, 46), clip: [round(20, 20, 23)] };
  return {
    piece: piece(
      "sticker",
      [40, 40],
      [{ outer, openings: [] }],
      [line("partialCutting", true, round(20, 20, 15)), line("cutting", true, outer)],
    ),
    reach: [{ outer: round(20, 20, 23), openings: [] }],
    layers: [layer],
    bleed: { wanted: mm(3), least: mm(3), own: 300e6, made: 0 },
  };
};

/** A plain board insert of two parts. */
export const insert = (): PreparedPiece => {
  const one = drawn([0, 30], [50, 30], [50, 0], [0, 0]);
  const two = drawn([60, 30], [85, 30], [72, 5]);
  const parts = [one, two].map((outer) => ({ outer, openings: [] }));
  return {
    piece: piece(
      "insert",
      [90, 30],
      parts,
      parts.map((p) => line("cutting", true, p.outer)),
      { stock: "greyboard" },
    ),
    reach: parts,
    layers: [],
    bleed: null,
  };
};

/** Words in the drawing's space, micrometres from its top-left corner. */
export const words = (text: string, x: number, y: number, size: number, ink: Ink = BLACK): SetText => {
  const set = setLine(text, { size });
  let axis = 0;
  const outlines = set.outlines.replace(/[A-Z]|-?[\d.]+/g, (token) => {
    if (/[A-Z]/.test(token)) {
      axis = 0;
      return token;
    }
    axis++;
    return String(axis % 2 === 1 ? mm(x) + Number(token) : mm(y) - Number(token));
  });
  const box = {
    x: mm(x),
    y: Math.round(mm(y) - set.ascent),
    width: Math.round(set.width),
    height: Math.round(set.ascent),
  };
  return { slot: "boat", text, size, ink, outlines, box };
};

/** A piece at its place: turn in degrees, the drawing's origin in millimetres of the sheet. */
export const placed = (
  number: number,
  prepared: PreparedPiece,
  turn: number,
  [e, f]: Corner,
  serves: readonly Serve[],
  texts: readonly SetText[] = [],
): Placed => ({
  number,
  prepared,
  wording: Object.fromEntries(texts.map((t) => [t.slot, t.text])),
  texts,
  turn,
  matrix: matrixOf({ degrees: turn, e: mm(e), f: mm(f) }),
  serves,
});

/** The working order: creases, perforations, partial cuts, cuts; each piece brings its openings before its outline. */
export const linesOf = (pieces: readonly Placed[]): SheetLine[] =>
  OPERATIONS.flatMap((operation) =>
    pieces.flatMap(({ number, prepared, matrix }) =>
      prepared.piece.lines
        .filter((l) => l.operation === operation)
        .map((l) => ({ operation, closed: l.closed, points: placeAll(matrix, l.points), placed: number })),
    ),
  );

const markAt = (shape: Mark["shape"], x: number, y: number): Mark => ({
  at: { x: mm(x), y: mm(y) },
  shape,
  size: mm(5),
});

/** Five marks, the fifth breaking the symmetry of a half turn. */
export const marks = (shape: Mark["shape"] = "disc"): Mark[] => [
  markAt(shape, 12, 15),
  markAt(shape, 308, 15),
  markAt(shape, 12, 440),
  markAt(shape, 308, 440),
  markAt(shape, 12, 60),
];

export const sheetOf = (pieces: readonly Placed[], more: Partial<Sheet> = {}): Sheet => {
  const lines = more.lines ?? linesOf(pieces);
  const { cutter } = more.stock ?? stock();
  const paths = more.paths ?? toolPaths(lines, cutter);
  return { ...plainSheet(pieces), lines, paths, work: workOf(paths, cutter), ...more };
};

const plainSheet = (pieces: readonly Placed[]): Omit<Sheet, "lines" | "paths" | "work"> => ({
  job: "2f81c0de",
  sheet: 1,
  of: 2,
  stock: stock(),
  width: mm(320),
  height: mm(450),
  run: 13,
  code: "KF1|2f81c0de|1|2",
  slug: "2f81c0de  sheet 1/2  card  run 13",
  cutAs: 1,
  marks: marks(),
  inks: [
    { outlines: "M 60000 9000 L 65000 9000 L 65000 14000 L 60000 14000 Z", ink: BLACK },
    { outlines: setLine("2f81c0de  sheet 1/2  card  run 13", { size: 8, at: [mm(70), mm(10)] }).outlines, ink: BLACK },
  ],
  placed: pieces,
  yield: 0.0712,
  cutLength: 1234.5678,
});

/** A page of 100 x 100 pt whose left half is blue and whose upper right quarter is black. */
export const drawnPage = async (
  shape: { rotate?: number; media?: readonly number[]; crop?: readonly number[] } = {},
) => {
  const document = await PDFDocument.create({ updateMetadata: false });
  const page = document.addPage([100, 100]);
  page.drawRectangle({ x: 0, y: 0, width: 50, height: 100, color: cmyk(0.9, 0.5, 0, 0.1) });
  page.drawRectangle({ x: 50, y: 50, width: 50, height: 50, color: cmyk(0, 0, 0, 1) });
  if (shape.media) page.node.set(page.node.context.obj("MediaBox"), page.node.context.obj([...shape.media]));
  if (shape.crop) page.node.set(page.node.context.obj("CropBox"), page.node.context.obj([...shape.crop]));
  if (shape.rotate) page.node.set(page.node.context.obj("Rotate"), page.node.context.obj(shape.rotate));
  const bytes = await document.save({ useObjectStreams: false });
  return { id: `page-${JSON.stringify(shape)}`, bytes, index: 0 } satisfies Page;
};

/** Four walls, one turned freely, with two boats' names, and a sticker. */
export const harbourSheet = async (more: Partial<Sheet> = {}): Promise<Sheet> => {
  const house = wall();
  const blue: Ink = { space: "cmyk", c: 0.9, m: 0.6, y: 0.1, k: 0.2 };
  return sheetOf(
    [
      placed(1, house, 0, [30, 420], [{ order: "HL-2041", first: 1, last: 13 }], [words("Solveig", 15, 42, 16)]),
      placed(
        2,
        house,
        90,
        [60, 250],
        [{ order: "HL-2041", first: 14, last: 20 }],
        [words("Ålesund", 14, 42, 16, blue)],
      ),
      placed(3, house, 33, [150, 330], [{ order: "HL-2042", first: 1, last: 13 }]),
      placed(4, sticker(await drawnPage()), 0, [200, 200], [{ order: "HL-2042", first: 1, last: 5 }]),
      placed(5, house, 180, [280, 100], [{ order: "HL-2042", first: 14, last: 20 }]),
    ],
    more,
  );
};

export const boardSheet = (more: Partial<Sheet> = {}): Sheet =>
  sheetOf(
    [
      placed(1, insert(), 0, [30, 400], [{ order: "HL-2041", first: 1, last: 5 }]),
      placed(2, insert(), 270, [200, 300], [{ order: "HL-2042", first: 1, last: 5 }]),
    ],
    { sheet: 2, stock: stock(null), run: 5, inks: [], ...more },
  );
