import { outlinesArea, outlinesBounds, placedBounds, type Rect, type Um } from "@kitforme/geometry";
import type { JobSheet } from "@kitforme/files";
import { type Operation, OPERATIONS } from "@kitforme/kit";
import type { Sheet } from "@kitforme/sheet";
import { type Element, element } from "./xml.ts";
import { GRAIN } from "./products.ts";
import { box, pathOf, stretches } from "./points.ts";
import { type Names, placeName, type Shape, shapeKey } from "./names.ts";

/** Processes of the ticket for our operations. A line that is cut partly through has none: its depth is the cutter's own. */
export const PROCESS: Readonly<Partial<Record<Operation, string>>> = {
  creasing: "Creasing",
  perforating: "Perforating",
  cutting: "ShapeCutting",
};

/** What is still to be done, in working order. */
export const processes = (sheets: readonly Sheet[]): string[] => {
  const worked = new Set(sheets.flatMap(({ lines }) => lines.map((line) => line.operation)));
  return [
    ...(sheets.some(({ stock }) => stock.press) ? ["DigitalPrinting"] : []),
    ...OPERATIONS.filter((o) => worked.has(o)).flatMap((o) => PROCESS[o] ?? []),
  ];
};

/** The shape of a piece in its own drawing: every line that is cut through. */
export const shapeDef = ({ piece }: Shape): Element =>
  element(
    "ShapeDef",
    {
      // Square metres.
      Area: Number((outlinesArea(piece.parts) / 1e12).toFixed(9)),
      CutBox: box(turnedUp(outlinesBounds(piece.parts), piece.size.height)),
      CutLines: "cutting",
      GrainDirection: piece.grain && GRAIN[piece.grain],
    },
    piece.lines
      .filter(({ operation }) => operation === "cutting")
      .map(({ points, closed }) =>
        element("Shape", { CutPath: pathOf(points, closed, piece.size.height), ShapeType: "Path" }),
      ),
  );

const turnedUp = ({ x, y, width, height }: Rect, of: Um): Rect => ({
  x,
  y: of - y - height,
  width,
  height,
});

/** All shapes of a cut layout at their places, and the files that cut it. */
export const dieLayout = ({ sheet, files }: JobSheet, { shapes }: Names): Element =>
  element("DieLayout", { CutLines: "cutting", Waste: Number((1 - sheet.yield).toFixed(4)) }, [
    ...Object.values(files.cut).map(({ name }) => element("FileSpec", { URL: name })),
    ...sheet.placed.map(({ number, prepared }) =>
      element("Station", { ShapeDefRef: shapes.get(shapeKey(prepared.piece))?.id, StationName: number }),
    ),
  ]);

/** Creases and perforations on the sheet, stretch by stretch; lines of its cutting are shapes. */
export const strokes = (sheet: Sheet, operation: "creasing" | "perforating", name: string): Element[] =>
  sheet.lines
    .filter((line) => line.operation === operation)
    .flatMap(({ points, closed }) => stretches(points, closed))
    .map(({ start, way }) => element(name, { StartPosition: start, WorkingDirection: "Top", WorkingPath: way }));

/** Every place of a sheet as a block of its own. */
export const cutBlocks = (sheet: Sheet): Element =>
  element(
    "CuttingParams",
    {},
    sheet.placed.map(({ number, prepared, matrix }) =>
      element("CutBlock", {
        BlockName: placeName(sheet.sheet, number),
        Box: box(placedBounds(matrix, prepared.piece.parts)),
      }),
    ),
  );
