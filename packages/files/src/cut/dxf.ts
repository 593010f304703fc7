import { fitArcs, type Point } from "@kitforme/geometry";
import { OPERATIONS, type Operation } from "@kitforme/kit";
import type { Mark, ToolPath } from "@kitforme/sheet";
import type { CutBodies } from "./bodies.ts";
import type { CutSheet } from "./cut-sheet.ts";
import { markShape } from "../mark.ts";
import { inAxes, isMirrored } from "./axes.ts";
import { identityOf } from "./identity.ts";

/** A group code and its value: two lines of the file. */
type Pair = readonly [code: number, value: string | number];

const REGISTRATION = "REGISTRATION";

/** Colours of the format's own table of numbers, one an operation, so that a viewer shows them apart. No meaning hangs on them. */
const COLOURS: Readonly<Record<Operation, number>> = { creasing: 4, perforating: 3, partialCutting: 6, cutting: 1 };
/** The drawing program's default: black on white, white on black. */
const PLAIN = 7;

/**
 * The cut file as DXF R12 in millimetres and the cutter's own axes: the release with the widest readership, and it needs no
 * handles. POLYLINE, since R12 knows no LWPOLYLINE; arcs are bulges of it, a whole circle is a CIRCLE. Readers that do not
 * know $INSUNITS of a later release still find one unit = 1 mm.
 */
export const writeDxf = (sheet: CutSheet, bodies: CutBodies): Uint8Array => {
  const head: Pair = [999, identityOf(sheet)];
  const body = bodies.of(sheet, "dxf", () => textOf(bodyOf(sheet)));
  return new TextEncoder().encode(textOf([[0, "SECTION"], [2, "HEADER"], head]) + body);
};

const textOf = (pairs: readonly Pair[]): string =>
  pairs.map(([code, value]) => `${String(code).padStart(3)}\r\n${value}\r\n`).join("");

/** All that comes after the name of the sheet. */
const bodyOf = (sheet: CutSheet): Pair[] => {
  const used = OPERATIONS.filter((o) => sheet.paths.some((p) => p.operation === o));
  const layers: readonly (readonly [name: string, colour: number])[] = [
    ["0", PLAIN],
    ...used.map((o) => [o.toUpperCase(), COLOURS[o]] as const),
    [REGISTRATION, PLAIN],
  ];
  const corners = [inAxes(sheet, { x: 0, y: 0 }), inAxes(sheet, { x: sheet.width, y: sheet.height })] as const;
  const [xs, ys] = [corners.map(({ x }) => x), corners.map(({ y }) => y)];
  return [
    // Its first two pairs and the name are written already.
    ...section("HEADER", [
      [9, "$ACADVER"],
      [1, "AC1009"],
      [9, "$INSUNITS"],
      [70, 4],
      [9, "$MEASUREMENT"],
      [70, 1],
      [9, "$EXTMIN"],
      ...at(Math.min(...xs), Math.min(...ys)),
      [9, "$EXTMAX"],
      ...at(Math.max(...xs), Math.max(...ys)),
    ]).slice(2),
    ...section("TABLES", [
      [0, "TABLE"],
      [2, "LTYPE"],
      [70, 1],
      [0, "LTYPE"],
      [2, "CONTINUOUS"],
      [70, 0],
      [3, "Solid line"],
      [72, 65],
      [73, 0],
      [40, "0.0"],
      [0, "ENDTAB"],
      [0, "TABLE"],
      [2, "LAYER"],
      [70, layers.length],
      ...layers.flatMap(([name, colour]): Pair[] => [
        [0, "LAYER"],
        [2, name],
        [70, 0],
        [62, colour],
        [6, "CONTINUOUS"],
      ]),
      [0, "ENDTAB"],
    ]),
    ...section("ENTITIES", [
      ...sheet.paths.flatMap((path) => curve(path.operation.toUpperCase(), path, sheet)),
      ...sheet.marks.flatMap((mark) => registration(mark, sheet)),
    ]),
    [0, "EOF"],
  ];
};

const section = (name: string, body: readonly Pair[]): Pair[] => [[0, "SECTION"], [2, name], ...body, [0, "ENDSEC"]];

/** Always with decimals: some readers take "10" for an integer where a real is due. */
const mm = (um: number): string => (um / 1000).toFixed(3);

const at = (x: number, y: number): Pair[] => [
  [10, mm(x)],
  [20, mm(y)],
  [30, "0.0"],
];

const registration = (mark: Mark, sheet: CutSheet): Pair[] => {
  const shape = markShape(mark);
  if (shape.kind === "polygon")
    return polyline(
      REGISTRATION,
      shape.points.map((p) => ({ to: inAxes(sheet, p), bulge: 0 })),
      true,
    );
  const { x, y } = inAxes(sheet, shape);
  return circle(REGISTRATION, { x, y }, shape.radius);
};

const circle = (layer: string, { x, y }: { readonly x: number; readonly y: number }, radius: number): Pair[] => [
  [0, "CIRCLE"],
  [8, layer],
  ...at(x, y),
  // A fitted radius is no whole micrometre; cut short it would be off by more than its points are.
  [40, (radius / 1000).toFixed(6)],
];

interface Vertex {
  readonly to: Point<"sheet">;
  /** Tangent of a quarter of the angle of the arc from here to the next vertex, counter-clockwise positive; 0 is straight. */
  readonly bulge: number;
}

/** A tool's path in the cutter's axes. A mirror there turns arcs the other way round. */
const curve = (layer: string, { points, closed }: ToolPath, sheet: CutSheet): Pair[] => {
  const fitted = fitArcs(points, closed);
  if (fitted.circle) return circle(layer, inAxes(sheet, fitted.circle.centre), fitted.circle.radius);
  const side = isMirrored(sheet.stock.cutter.axes) ? -1 : 1;
  const froms = [fitted.from, ...fitted.segments.map((s) => s.to)];
  const vertices = fitted.segments.map(
    (s, i): Vertex => ({
      to: inAxes(sheet, froms[i] as Point),
      bulge: s.kind === "arc" ? side * Math.tan(s.sweep / 4) : 0,
    }),
  );
  // Closed is a flag: the first point is not repeated.
  const end: Vertex[] = closed ? [] : [{ to: inAxes(sheet, froms.at(-1) as Point), bulge: 0 }];
  return polyline(layer, [...vertices, ...end], closed);
};

const polyline = (layer: string, vertices: readonly Vertex[], closed: boolean): Pair[] => [
  [0, "POLYLINE"],
  [8, layer],
  [66, 1],
  [70, closed ? 1 : 0],
  ...at(0, 0),
  ...vertices.flatMap(({ to, bulge }): Pair[] => [
    [0, "VERTEX"],
    [8, layer],
    ...at(to.x, to.y),
    ...(bulge === 0 ? [] : [[42, bulge.toFixed(8)] as const]),
  ]),
  [0, "SEQEND"],
  [8, layer],
];
