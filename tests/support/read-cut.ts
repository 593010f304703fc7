// Readers of cut files that share nothing with the writers but the formats' public descriptions.
import { createRequire } from "node:module";
import type { DxfParser as Parser } from "dxf-parser";
import { SaxesParser } from "saxes";

// The package is CommonJS and is its own class; its types describe another build.
const DxfParser = createRequire(import.meta.url)("dxf-parser") as typeof Parser;

export interface ReadLine {
  /** Operation as the file names it, or the pen. */
  readonly layer: string;
  readonly closed: boolean;
  /** Millimetres of the sheet, y up. */
  readonly points: readonly (readonly [x: number, y: number])[];
}

/** Paths of groups by the groups' ids. Understands the absolute M, L and Z that a polyline needs, and nothing else. */
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
    } else throw new Error(`unexpected <${tag.name}>`);
  });
  parser.on("closetag", (tag) => {
    if (tag.name === "g") groups.pop();
  });
  parser.write(new TextDecoder().decode(bytes)).close();
  return { attributes, lines };
};

const pathPoints = (d: string, height: number): Omit<ReadLine, "layer"> => {
  if (!/^M-?[\d.]+ -?[\d.]+(L-?[\d.]+ -?[\d.]+)*Z?$/.test(d)) throw new Error(`not a polyline: ${d.slice(0, 60)}`);
  const points = d
    .slice(1)
    .replace("Z", "")
    .split("L")
    .map((pair): [number, number] => {
      const [x = NaN, y = NaN] = pair.split(" ").map(Number);
      return [x, height - y];
    });
  return { closed: d.endsWith("Z"), points };
};

/** Through the open dxf-parser. */
export const readDxf = (bytes: Uint8Array) => {
  const read = new DxfParser().parseSync(new TextDecoder().decode(bytes));
  if (!read) throw new Error("dxf-parser read nothing");
  const lines: ReadLine[] = read.entities.map((entity) => {
    if ("vertices" in entity && Array.isArray(entity.vertices)) {
      const points = entity.vertices.map((v: { x: number; y: number }): [number, number] => [v.x, v.y]);
      return { layer: entity.layer, closed: "shape" in entity && entity.shape === true, points };
    }
    if (entity.type === "CIRCLE" && "center" in entity) {
      const { x, y } = entity.center as { x: number; y: number };
      return { layer: entity.layer, closed: true, points: [[x, y]] };
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
    } else if (name !== "IN") throw new Error(`unexpected ${name}`);
  }
  return lines.map((line) => {
    const [first, last] = [line.points[0], line.points.at(-1)];
    const closed = line.points.length > 3 && first?.[0] === last?.[0] && first?.[1] === last?.[1];
    return { ...line, closed, points: closed ? line.points.slice(0, -1) : line.points };
  });
};

type Corner = readonly [x: number, y: number];

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
