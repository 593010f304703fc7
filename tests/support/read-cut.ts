// Readers of cut files that share nothing with the writers but the formats' public descriptions.
import { createRequire } from "node:module";
import type { DxfParser as Parser } from "dxf-parser";
import { SaxesParser } from "saxes";
import { bulgedPoints, circlePoints, type Corner, svgArcPoints } from "./curves.ts";

// The package is CommonJS and is its own class; its types describe another build.
const DxfParser = createRequire(import.meta.url)("dxf-parser") as typeof Parser;

export interface ReadLine {
  /** Operation as the file names it, or the pen. */
  readonly layer: string;
  readonly closed: boolean;
  /** Millimetres of the sheet, y up. */
  readonly points: readonly (readonly [x: number, y: number])[];
}

/** Paths of groups by the groups' ids. Understands the absolute M, L, A and Z of lines and arcs, and nothing else. */
export const readSvg = (
  bytes: Uint8Array,
): { readonly attributes: Record<string, string>; readonly lines: ReadLine[] } => {
  const parser = new SaxesParser();
  const lines: ReadLine[] = [];
  const groups: string[] = [];
  let attributes: Record<string, string> = {};
  let height = 0;
  parser.on("error", (error) => {
    throw error;
  });
  parser.on("opentag", (tag) => {
    const given = tag.attributes;
    if (tag.name === "svg") {
      attributes = given;
      height = Number(given["viewBox"]?.split(" ")[3]);
    } else if (tag.name === "g") groups.push(given["id"] ?? "");
    else if (tag.name === "path") lines.push({ layer: groups.at(-1) ?? "", ...pathPoints(given["d"] ?? "", height) });
    else if (tag.name === "circle") {
      const [x, y] = [Number(given["cx"]), height - Number(given["cy"])];
      lines.push({ layer: groups.at(-1) ?? "", closed: true, points: [[x, y]] });
    } else if (tag.name === "polygon") {
      const points = (given["points"] ?? "").split(" ").map((pair): [number, number] => {
        const [x = NaN, y = NaN] = pair.split(",").map(Number);
        return [x, height - y];
      });
      lines.push({ layer: groups.at(-1) ?? "", closed: true, points });
    } else if (tag.name !== "title") throw new Error(`unexpected <${tag.name}>`);
  });
  parser.on("closetag", (tag) => {
    if (tag.name === "g") groups.pop();
  });
  parser.write(new TextDecoder().decode(bytes)).close();
  return { attributes, lines };
};

const PATH = /^M-?[\d.]+ -?[\d.]+(L-?[\d.]+ -?[\d.]+|A[\d.]+ [\d.]+ 0 [01] [01] -?[\d.]+ -?[\d.]+)*Z?$/;

const pathPoints = (d: string, height: number): Omit<ReadLine, "layer"> => {
  if (!PATH.test(d)) throw new Error(`not lines and arcs: ${d.slice(0, 60)}`);
  const points: Corner[] = [];
  for (const [, command, operands = ""] of d.matchAll(/([MLA])([^MLAZ]+)/g)) {
    const n = operands.split(" ").map(Number);
    const to: Corner = [n.at(-2) ?? NaN, n.at(-1) ?? NaN];
    if (command === "A") points.push(...svgArcPoints(points.at(-1) as Corner, n[0] ?? NaN, n[3] === 1, n[4] === 1, to));
    else points.push(to);
  }
  const closed = d.endsWith("Z");
  const [first, last] = [points[0], points.at(-1)];
  // An arc home ends on the first point, and Z then has no way left to go.
  if (closed && points.length > 1 && first?.[0] === last?.[0] && first?.[1] === last?.[1]) points.pop();
  return { closed, points: points.map(([x, y]): Corner => [x, height - y]) };
};

/** Through the open dxf-parser. */
export const readDxf = (bytes: Uint8Array) => {
  const read = new DxfParser().parseSync(new TextDecoder().decode(bytes));
  if (!read) throw new Error("dxf-parser read nothing");
  const lines: ReadLine[] = read.entities.map((entity) => {
    if ("vertices" in entity && Array.isArray(entity.vertices)) {
      const closed = "shape" in entity && entity.shape === true;
      return { layer: entity.layer, closed, points: bulgedPoints(entity.vertices, closed) };
    }
    if (entity.type === "CIRCLE" && "center" in entity) {
      const { x, y } = entity.center as { x: number; y: number };
      const radius = Number((entity as unknown as { radius: number }).radius);
      return { layer: entity.layer, closed: true, points: circlePoints(x, y, radius) };
    }
    throw new Error(`unexpected ${entity.type}`);
  });
  return { header: read.header, layers: Object.keys(read.tables.layer.layers), lines };
};

/** A plotter: pen, up or down, absolute moves of 0.025 mm. */
export const readHpgl = (bytes: Uint8Array): ReadLine[] => {
  const lines: { layer: string; closed: boolean; points: [number, number][] }[] = [];
  let pen = "0";
  let at: [number, number] = [0, 0];
  let down = false;
  for (const command of new TextDecoder().decode(bytes).split(";").filter(Boolean)) {
    const name = command.slice(0, 2);
    const numbers = command.slice(2).split(",").filter(Boolean).map(Number);
    if (name === "SP") pen = String(numbers[0] ?? 0);
    else if (name === "PU") {
      down = false;
      if (numbers.length === 2) at = [(numbers[0] ?? 0) / 40, (numbers[1] ?? 0) / 40];
    } else if (name === "PD") {
      if (!down) lines.push({ layer: pen, closed: false, points: [at] });
      down = true;
      for (let i = 0; i < numbers.length; i += 2) {
        at = [(numbers[i] ?? NaN) / 40, (numbers[i + 1] ?? NaN) / 40];
        lines.at(-1)?.points.push(at);
      }
    } else if (name !== "IN" && name !== "CO") throw new Error(`unexpected ${name}`);
  }
  return lines.map((line) => {
    const [first, last] = [line.points[0], line.points.at(-1)];
    const closed = line.points.length > 3 && first?.[0] === last?.[0] && first?.[1] === last?.[1];
    return { ...line, closed, points: closed ? line.points.slice(0, -1) : line.points };
  });
};

/** The largest distance from a point of one line to the other line, both ways: Hausdorff for polylines, at their corners. */
export const apart = (a: readonly Corner[], b: readonly Corner[], closed: boolean): number =>
  Math.max(...a.map((p) => toLine(p, b, closed)), ...b.map((p) => toLine(p, a, closed)));

const toLine = ([x, y]: Corner, line: readonly Corner[], closed: boolean): number => {
  let best = Infinity;
  const ends = closed ? [...line, line[0] as Corner] : line;
  for (let i = 1; i < ends.length; i++) {
    const [[ax, ay], [bx, by]] = [ends[i - 1] as Corner, ends[i] as Corner];
    const square = (bx - ax) ** 2 + (by - ay) ** 2;
    const t = square === 0 ? 0 : Math.max(0, Math.min(1, ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / square));
    best = Math.min(best, Math.hypot(x - ax - t * (bx - ax), y - ay - t * (by - ay)));
  }
  return best;
};

/** Stroked paths of a content stream by the layer they stand in: `m`, `l`, `c`, `h` in points, and `S`. */
export const pdfLines = (program: string): ReadLine[] => {
  const lines: ReadLine[] = [];
  let layer = "";
  let points: Corner[] = [];
  let closed = false;
  const operands: string[] = [];
  /** The operands of an operator, of which the last `count` are its own. */
  const last = (count: number): number[] => operands.slice(-count).map((n) => (Number(n) * 25.4) / 72);
  const pair = (): Corner => last(2) as unknown as Corner;
  for (const token of program.split(/\s+/)) {
    if (token === "BDC") layer = (operands.at(-1) ?? "").slice(1);
    else if (token === "m") [points, closed] = [[pair()], false];
    else if (token === "l") points.push(pair());
    else if (token === "c") {
      const [x, y] = points.at(-1) as Corner;
      const [ax = NaN, ay = NaN, bx = NaN, by = NaN, qx = NaN, qy = NaN] = last(6);
      for (let i = 1; i <= 16; i++) {
        const [t, u] = [i / 16, 1 - i / 16];
        const at = (p: number, a: number, b: number, q: number): number =>
          u * u * u * p + 3 * u * u * t * a + 3 * u * t * t * b + t * t * t * q;
        points.push([at(x, ax, bx, qx), at(y, ay, by, qy)]);
      }
    } else if (token === "h") closed = true;
    else if (token === "S") {
      const [first, end] = [points[0], points.at(-1)];
      const home = closed && first && end && Math.hypot(first[0] - end[0], first[1] - end[1]) < 1e-3;
      lines.push({ layer, closed, points: home ? points.slice(0, -1) : points });
    } else {
      operands.push(token);
      continue;
    }
    operands.length = 0;
  }
  return lines;
};
