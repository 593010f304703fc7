import { flattenArc, type Path, type Point } from "@kitforme/geometry";
import { type CutFormat, OPERATIONS, type Operation } from "@kitforme/kit";
import type { ToolPath } from "@kitforme/sheet";
import { fromAxes } from "./axes.ts";
import type { CutSheet } from "./cut-sheet.ts";
import { readCutPdf } from "./read-cut-pdf.ts";

/** What is needed to read a cut file back into the sheet's own millimetres. */
export type Frame = Pick<CutSheet, "width" | "height" | "stock">;

/** Formats that are read back, the most exact first. */
export const READABLE: readonly CutFormat[] = ["svg", "dxf", "pdf", "hpgl"];

/**
 * The tool paths of a cut file that kitforme wrote, for fitting them to a print. Only its own files are read: their hashes
 * stand in job.json, and the caller has compared them; anything else throws.
 */
export const readCut = async (bytes: Uint8Array, format: CutFormat, frame: Frame): Promise<ToolPath[]> => {
  const text = (): string => new TextDecoder().decode(bytes);
  const readers = {
    svg: async () => fromSvg(text(), frame),
    dxf: async () => fromDxf(text(), frame),
    hpgl: async () => fromHpgl(text(), frame),
    pdf: async () =>
      (await readCutPdf(bytes, frame)).map(({ operation, closed, points }) => pathOf(operation, closed, points, frame)),
  };
  const paths = await readers[format]();
  if (paths.length === 0) throw new Error(`a cut file (${format}) without a path`);
  return paths;
};

const operationOf = (name: string): Operation => {
  const found = OPERATIONS.find((o) => o.toUpperCase() === name.toUpperCase());
  if (!found) throw new Error(`no operation is called ${name}`);
  return found;
};

/** The paths of one operation; which tool made them is known from the cutter. */
const pathOf = (
  operation: Operation,
  closed: boolean,
  points: readonly Point<"sheet">[],
  { stock }: Frame,
): ToolPath => ({
  operation,
  tool: stock.cutter.tools[operation] ? operation : "cutting",
  closed,
  points,
  placed: 0,
});

const um = (millimetres: string | undefined): number => Math.round(Number(millimetres) * 1000) + 0;

/** Fine chords: the fitted line is searched for arcs again, and chords within a micrometre leave it the same ones. */
const CHORD = 1;

const fromSvg = (text: string, frame: Frame): ToolPath[] =>
  [...text.matchAll(/<g id="(\w+)"[^>]*>([\s\S]*?)<\/g>/g)]
    .filter(([, id]) => id !== "registration")
    .flatMap(([, id = "", body = ""]) =>
      [...body.matchAll(/<path d="([^"]+)"\/>/g)].map(([, d = ""]) => {
        const points = svgPoints(d).map(({ x, y }): Point<"sheet"> => ({ x, y: frame.height - y }));
        return pathOf(operationOf(id), d.endsWith("Z"), d.endsWith("Z") ? opened(points) : points, frame);
      }),
    );

/** An arc home ends on the first point, which a closed line does not repeat. */
const opened = (points: readonly Point<"sheet">[]): Path<"sheet"> => {
  const [first, last] = [points[0], points.at(-1)];
  return points.length > 1 && first?.x === last?.x && first?.y === last?.y ? points.slice(0, -1) : points;
};

const svgPoints = (d: string): Point<"sheet">[] => {
  const points: Point<"sheet">[] = [];
  for (const [, command, operands = ""] of d.matchAll(/([MLA])([^MLAZ]+)/g)) {
    const n = operands.split(" ");
    const to: Point<"sheet"> = { x: um(n.at(-2)), y: um(n.at(-1)) };
    const from = points.at(-1);
    if (command !== "A" || !from) points.push(to);
    else {
      const r = Number(n[0]) * 1000;
      const arc = { rx: r, ry: r, rotation: 0, large: n[3] === "1", sweep: n[4] === "1" };
      points.push(...flattenArc<"sheet">(from, arc, to, CHORD).slice(1));
    }
  }
  return points;
};

const fromDxf = (text: string, frame: Frame): ToolPath[] => {
  const lines = text.split("\r\n");
  const pairs = Array.from(
    { length: lines.length >> 1 },
    (_, i) => [Number(lines[2 * i]), lines[2 * i + 1] ?? ""] as const,
  );
  const start = pairs.findIndex(([code, value]) => code === 2 && value === "ENTITIES");
  const entities: { kind: string; values: Map<number, string> }[] = [];
  for (const [code, value] of pairs.slice(start + 1))
    if (code === 0) entities.push({ kind: value, values: new Map() });
    else entities.at(-1)?.values.set(code, value);
  const paths: ToolPath[] = [];
  let open: { layer: string; closed: boolean; vertices: { at: Point<"sheet">; bulge: number }[] } | undefined;
  for (const { kind, values } of entities) {
    const layer = values.get(8) ?? "";
    const at = (): Point<"sheet"> => ({ x: um(values.get(10)), y: um(values.get(20)) });
    if (kind === "POLYLINE") open = { layer, closed: values.get(70) === "1", vertices: [] };
    else if (kind === "VERTEX") open?.vertices.push({ at: at(), bulge: Number(values.get(42) ?? 0) });
    else if (kind === "SEQEND" && open) {
      if (open.layer !== "REGISTRATION")
        paths.push(
          pathOf(operationOf(open.layer), open.closed, framed(bulged(open.vertices, open.closed), frame), frame),
        );
      open = undefined;
    } else if (kind === "CIRCLE" && layer !== "REGISTRATION") {
      const [{ x, y }, r] = [at(), Math.round(Number(values.get(40)) * 1000)];
      const half = Math.tan(Math.PI / 4);
      const vertices = [x + r, x - r].map((u) => ({ at: { x: u, y }, bulge: half }));
      paths.push(pathOf(operationOf(layer), true, framed(bulged(vertices, true), frame), frame));
    }
  }
  return paths;
};

/** Points of a polyline whose bulges (tangents of a quarter of the angle) are arcs. */
const bulged = (vertices: readonly { at: Point<"sheet">; bulge: number }[], closed: boolean): Point<"sheet">[] => {
  const points: Point<"sheet">[] = [];
  vertices.forEach(({ at, bulge }, i) => {
    points.push(at);
    const to = vertices[i + 1] ?? (closed ? vertices[0] : undefined);
    if (!to || bulge === 0) return;
    const angle = 4 * Math.atan(Math.abs(bulge));
    const r = Math.hypot(to.at.x - at.x, to.at.y - at.y) / (2 * Math.sin(angle / 2));
    const arc = { rx: r, ry: r, rotation: 0, large: false, sweep: bulge > 0 };
    points.push(...flattenArc<"sheet">(at, arc, to.at, CHORD).slice(1, -1));
  });
  return points;
};

const framed = (points: readonly Point<"sheet">[], frame: Frame): Path<"sheet"> =>
  points.map((p) => fromAxes(frame, p));

const fromHpgl = (text: string, frame: Frame): ToolPath[] => {
  const { tools } = frame.stock.cutter;
  const paths: ToolPath[] = [];
  let operation: Operation | undefined;
  let points: Point<"sheet">[] = [];
  const end = (): void => {
    const [first, last] = [points[0], points.at(-1)];
    const closed = points.length > 3 && first?.x === last?.x && first?.y === last?.y;
    if (operation && points.length > 1)
      paths.push(pathOf(operation, closed, framed(closed ? points.slice(0, -1) : points, frame), frame));
    points = [];
  };
  for (const command of text.split(";")) {
    const numbers = command
      .slice(2)
      .split(",")
      .filter(Boolean)
      .map((n) => Number(n) * 25);
    const pairs = Array.from(
      { length: numbers.length >> 1 },
      (_, i): Point<"sheet"> => ({ x: numbers[2 * i] ?? 0, y: numbers[2 * i + 1] ?? 0 }),
    );
    if (command.startsWith("PD")) points.push(...pairs);
    else if (command.startsWith("PU")) {
      end();
      points = pairs;
    } else if (command.startsWith("SP")) {
      end();
      operation = OPERATIONS.find((o) => tools[o]?.pen === Number(command.slice(2)));
    }
  }
  end();
  return paths;
};
