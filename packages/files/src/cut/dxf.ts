import type { Path } from "@kitforme/geometry";
import { OPERATIONS } from "@kitforme/kit";
import type { Mark, Sheet } from "@kitforme/sheet";
import { markShape } from "../mark.ts";

/** A group code and its value: two lines of the file. */
type Pair = readonly [code: number, value: string | number];

const REGISTRATION = "REGISTRATION";

/**
 * The cut file as DXF R12 in millimetres: the release with the widest readership, and it needs no handles. POLYLINE, since
 * R12 knows no LWPOLYLINE. Readers that do not know $INSUNITS of a later release still find one unit = 1 mm.
 */
export const writeDxf = (sheet: Sheet): Uint8Array => {
  const used = OPERATIONS.filter((o) => sheet.lines.some((l) => l.operation === o));
  const layers = ["0", ...used.map((o) => o.toUpperCase()), REGISTRATION];
  const pairs: readonly Pair[] = [
    ...section("HEADER", [
      [9, "$ACADVER"],
      [1, "AC1009"],
      [9, "$INSUNITS"],
      [70, 4],
      [9, "$MEASUREMENT"],
      [70, 1],
      [9, "$EXTMIN"],
      ...at(0, 0),
      [9, "$EXTMAX"],
      ...at(sheet.width, sheet.height),
    ]),
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
      // Colour 7, the drawing program's default, on every layer: the layer's name says what it is, no colour means anything.
      ...layers.flatMap((name): Pair[] => [
        [0, "LAYER"],
        [2, name],
        [70, 0],
        [62, 7],
        [6, "CONTINUOUS"],
      ]),
      [0, "ENDTAB"],
    ]),
    ...section("ENTITIES", [
      ...sheet.lines.flatMap((l) => polyline(l.operation.toUpperCase(), l.points, l.closed)),
      ...sheet.marks.flatMap(registration),
    ]),
    [0, "EOF"],
  ];
  return new TextEncoder().encode(pairs.map(([code, value]) => `${String(code).padStart(3)}\r\n${value}\r\n`).join(""));
};

const section = (name: string, body: readonly Pair[]): Pair[] => [[0, "SECTION"], [2, name], ...body, [0, "ENDSEC"]];

/** Always with decimals: some readers take "10" for an integer where a real is due. */
const mm = (um: number): string => (um / 1000).toFixed(3);

const at = (x: number, y: number): Pair[] => [
  [10, mm(x)],
  [20, mm(y)],
  [30, "0.0"],
];

const registration = (mark: Mark): Pair[] => {
  const shape = markShape(mark);
  if (shape.kind === "polygon") return polyline(REGISTRATION, shape.points, true);
  return [[0, "CIRCLE"], [8, REGISTRATION], ...at(shape.x, shape.y), [40, mm(shape.radius)]];
};

/** Closed is a flag: the first point is not repeated. */
const polyline = (layer: string, points: Path<"sheet">, closed: boolean): Pair[] => [
  [0, "POLYLINE"],
  [8, layer],
  [66, 1],
  [70, closed ? 1 : 0],
  ...at(0, 0),
  ...points.flatMap((p): Pair[] => [[0, "VERTEX"], [8, layer], ...at(p.x, p.y)]),
  [0, "SEQEND"],
  [8, layer],
];
