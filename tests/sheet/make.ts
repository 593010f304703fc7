// Stocks, pieces and formes for the tests of the sheet.
import type { Contour, Outline } from "@kitforme/geometry";
import { mm, outlinesOf } from "@kitforme/geometry";
import type { Cutter, Line, Piece, Press, Stock } from "@kitforme/kit";
import type { PreparedPiece } from "@kitforme/prepress";
import type { ImposedForme } from "@kitforme/sheet";

export const PRESS: Press = {
  name: "digital",
  margins: { top: mm(5), right: mm(5), bottom: mm(8), left: mm(5) },
  resolution: 300,
  bleed: mm(3),
  colour: "cmyk",
  register: mm(0.5),
};

export const CUTTER: Cutter = {
  name: "flatbed",
  formats: ["svg", "dxf", "hpgl"],
  tolerance: mm(1),
  clearance: mm(1),
  least: { bridge: 1000, opening: 3000, corner: 1000 },
  bareClearance: mm(1),
  margins: { top: mm(5), right: mm(5), bottom: mm(5), left: mm(5) },
  marks: { shape: "disc", size: mm(5), clear: mm(2), along: 0 },
  tools: { cutting: { pen: 1 }, creasing: { pen: 2 }, perforating: { pen: 3 }, partialCutting: { pen: 4 } },
  axes: { origin: "lowerLeft", swap: false, offset: [0, 0] },
  path: { overcut: 0, bladeOffset: 0, tabs: null, dash: {} },
};

export const SRA3 = { width: mm(320), height: mm(450) };

export const stockOf = (more: Partial<Stock> = {}): Stock => ({
  stock: "card",
  title: "White card 270 g/m2",
  sheets: [SRA3],
  grain: "long",
  press: PRESS,
  cutter: CUTTER,
  ...more,
});

/** A rectangle in millimetres, drawing space. */
export const rectangle = (x: number, y: number, width: number, height: number): Contour<"drawing"> => [
  { x: mm(x), y: mm(y) },
  { x: mm(x + width), y: mm(y) },
  { x: mm(x + width), y: mm(y + height) },
  { x: mm(x), y: mm(y + height) },
];

export const circle = (x: number, y: number, radius: number, count = 48): Contour<"drawing"> =>
  Array.from({ length: count }, (_, i) => ({
    x: mm(x + radius * Math.cos((2 * Math.PI * i) / count)),
    y: mm(y + radius * Math.sin((2 * Math.PI * i) / count)),
  }));

export const cut = (points: Contour<"drawing">): Line => ({ operation: "cutting", closed: true, points });
export const stroke = (operation: Line["operation"], ...corners: readonly (readonly [number, number])[]): Line => ({
  operation,
  closed: false,
  points: corners.map(([x, y]) => ({ x: mm(x), y: mm(y) })),
});

/** A piece of these lines; what bleeds is the outlines themselves unless said otherwise. */
export const pieceOf = (
  lines: readonly Line[],
  reach?: readonly Outline<"drawing">[],
  name = "wall",
): PreparedPiece => {
  const parts = outlinesOf(lines.filter((l) => l.operation === "cutting" && l.closed).map((l) => l.points));
  const piece: Piece = {
    kit: "harbour",
    piece: name,
    perKit: 1,
    stock: "card",
    size: { width: mm(100), height: mm(100) },
    parts,
    lines,
    artwork: null,
    turns: [0, 90, 180, 270],
    spread: "nearest",
    slots: [],
  };
  return { piece, reach: reach ?? parts, layers: [], bleed: null };
};

/** A forme of pieces at places in millimetres. */
export const formeOf = (
  pieces: readonly {
    readonly prepared: PreparedPiece;
    readonly turn?: number;
    readonly at: readonly [number, number];
  }[],
  more: Partial<ImposedForme> = {},
): ImposedForme => ({
  sheet: 1,
  of: 1,
  run: 13,
  ...SRA3,
  cutAs: more.sheet ?? 1,
  pieces: pieces.map(({ prepared, turn = 0, at }) => ({
    prepared,
    wording: {},
    texts: [],
    turn,
    e: mm(at[0]),
    f: mm(at[1]),
    serves: [{ order: "HL-2041", first: 1, last: 13 }],
  })),
  ...more,
});
