// One sheet in all four cut formats, each read by a program of other hands, and all against each other.
import { execFileSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { writeCut } from "@kitforme/files";
import { apply, mm } from "@kitforme/geometry";
import type { CutFormat } from "@kitforme/kit";
import type { Sheet } from "@kitforme/sheet";
import { SaxesParser } from "saxes";
import { beforeAll, describe, expect, it } from "vitest";
import type { Corner } from "../support/curves.ts";
import { ringsOfSvg } from "../support/designer-lines.ts";
import { hasPython, inFolder } from "../support/oracle.ts";
import { oracle } from "../support/promised.ts";
import { apart } from "../support/read-cut.ts";
import { harbourSheet } from "../support/sheets.ts";

interface Way {
  readonly operation: string;
  readonly closed: boolean;
  /** Millimetres of the sheet, y up. */
  readonly points: readonly Corner[];
}

/** Sheet, and the machine whose axes HP-GL and DXF are written in: all that can be turned is. */
const [WIDE, HIGH, OFF] = [320, 450, [3, -7] as const];
const AXES = { origin: "upperRight", swap: true, offset: [mm(OFF[0]), mm(OFF[1])] } as const;
/** A point of that machine as one of the sheet, by hand: X runs down from the upper right corner, Y to the left of it. */
const onSheet = ([x, y]: Corner): Corner => [WIDE - (y - OFF[1]), HIGH - (x - OFF[0])];
const PENS = ["cutting", "creasing", "perforating", "partialcutting"];

const reads = (program: string, args: (file: string) => readonly string[], name: string, bytes: Uint8Array): string =>
  inFolder((at) => {
    writeFileSync(at(name), bytes);
    return execFileSync(program, args(at(name)), { encoding: "utf8", maxBuffer: 1 << 26 });
  });

/** ezdxf finds centre, radius and angles of every arc; here it is only walked along. */
const EZDXF = `
import ezdxf, json, math, sys
from ezdxf.math import bulge_to_arc
doc = ezdxf.readfile(sys.argv[1])
ways = []
def arc(centre, radius, a, b):
    n = max(2, math.ceil((b - a) / 0.01))
    return [(centre[0] + radius * math.cos(a + (b - a) * i / n), centre[1] + radius * math.sin(a + (b - a) * i / n)) for i in range(n + 1)]
for e in doc.modelspace():
    if e.dxftype() == 'CIRCLE':
        ways.append((e.dxf.layer, True, arc(e.dxf.center, e.dxf.radius, 0, 2 * math.pi)[:-1]))
        continue
    corners = [(v.dxf.location.x, v.dxf.location.y, v.dxf.bulge) for v in e.vertices]
    points = [corners[0][:2]]
    for p, q in zip(corners, corners[1:] + (corners[:1] if e.is_closed else [])):
        if p[2]:
            centre, a, b, radius = bulge_to_arc(p[:2], q[:2], p[2])
            run = arc(centre, radius, a, b + 2 * math.pi if b < a else b)
            points += (run if p[2] > 0 else run[::-1])[1:]
        else:
            points.append(q[:2])
    ways.append((e.dxf.layer, e.is_closed, points[:-1] if e.is_closed else points))
print(json.dumps({'errors': len(doc.audit().errors), 'units': doc.units, 'ways': ways}))
`;
const dxfWays = (bytes: Uint8Array): Way[] => {
  const read = JSON.parse(reads("/usr/bin/python3", (file) => ["-c", EZDXF, file], "in.dxf", bytes)) as {
    readonly errors: number;
    readonly units: number;
    readonly ways: readonly (readonly [layer: string, closed: boolean, points: Corner[]])[];
  };
  expect([read.errors, read.units]).toEqual([0, 4]);
  return read.ways.map(([layer, closed, points]) => ({
    operation: layer.toLowerCase(),
    closed,
    points: points.map(onSheet),
  }));
};

/**
 * hp2xx draws in points from the drawing's own corner: an angle of 1 mm at the machine's zero, put before everything, tells where that
 * is and which way its axes run. Each PD is a path of its own, that goes on where the last ended.
 */
const hpglWays = (bytes: Uint8Array): Way[] => {
  const text = new TextDecoder().decode(bytes).replace("IN;", "IN;SP8;PU0,40;PD0,0,40,0;PU;");
  const drawn = inFolder((at) => {
    writeFileSync(at("in.plt"), text);
    execFileSync("hp2xx", ["-m", "svg", "-q", "-t", "-f", at("out.svg"), at("in.plt")], { stdio: "pipe" });
    return readFileSync(at("out.svg"), "utf8");
  });
  const colours = ["0,0,0", "255,0,0", "0,255,0", "0,0,255"];
  const paths: { operation: string; points: Corner[] }[] = [];
  let operation = "";
  for (const [, colour, d] of drawn.matchAll(/stroke:rgb\(([\d,]+)\)|<path d="([^"]+)"/g)) {
    if (colour !== undefined) operation = PENS[colours.indexOf(colour)] ?? "";
    const numbers = [...(d ?? "").matchAll(/-?[\d.]+/g)].map(Number);
    const points = Array.from(
      { length: numbers.length / 2 },
      (_, i): Corner => [numbers[2 * i] ?? NaN, numbers[2 * i + 1] ?? NaN],
    );
    const [start, last] = [points[0], paths.at(-1)];
    const end = last?.points.at(-1);
    // It ends some paths with a path of one point.
    if (!start || points.length < 2) continue;
    // Not what begins anew where a closed line came home.
    const home = last && last.points.length > 3 && String(end) === String(last.points[0]);
    if (last && !home && last.operation === operation && String(start) === String(end))
      last.points.push(...points.slice(1));
    else paths.push({ operation, points });
  }
  const [up, zero, right] = paths.shift()?.points ?? [];
  if (!up || !zero || !right) throw new Error("hp2xx did not draw the angle");
  // The angle tells the directions only: a thousandth of a point on its millimetre would be a tenth of one across the sheet.
  const [across, upwards] = [Math.sign(right[0] - zero[0]), Math.sign(up[1] - zero[1])];
  const toMachine = ([x, y]: Corner): Corner => [
    ((x - zero[0]) * across * 25.4) / 72,
    ((y - zero[1]) * upwards * 25.4) / 72,
  ];
  return paths.map(({ operation, points }) => {
    const closed = points.length > 3 && String(points[0]) === String(points.at(-1));
    return { operation, closed, points: (closed ? points.slice(0, -1) : points).map((p) => onSheet(toMachine(p))) };
  });
};

/** mutool says every path that it would draw, in points, with the layer that it stands in. */
const pdfWays = (bytes: Uint8Array): Way[] => {
  const ways: { operation: string; closed: boolean; points: Corner[] }[] = [];
  let layer = "";
  const parser = new SaxesParser();
  parser.on("opentag", ({ name, attributes: a }) => {
    const at = (x: string, y: string): Corner => [(Number(a[x]) * 25.4) / 72, (Number(a[y]) * 25.4) / 72];
    const points = ways.at(-1)?.points ?? [];
    const last = points.at(-1);
    if (name === "layer") layer = (a["name"] ?? "").toLowerCase();
    // Marks are filled; every line of a tool is a stroke.
    else if (name === "stroke_path" || name === "fill_path")
      ways.push({ operation: name === "fill_path" ? "registration" : layer, closed: false, points: [] });
    else if (name === "moveto" || name === "lineto") points.push(at("x", "y"));
    else if (name === "curveto" && last) {
      const hull = [last, at("x1", "y1"), at("x2", "y2"), at("x3", "y3")] as const;
      for (let i = 1; i <= 32; i++) {
        const [t, u] = [i / 32, 1 - i / 32];
        const shares = [u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t];
        points.push([0, 1].map((k) => shares.reduce((sum, s, j) => sum + s * (hull[j]?.[k] ?? NaN), 0)) as never);
      }
    } else if (name === "closepath") (ways.at(-1) as { closed: boolean }).closed = true;
  });
  parser.write(reads("mutool", (file) => ["trace", file], "in.pdf", bytes)).close();
  return ways.map((way) => {
    const [first, end] = [way.points[0], way.points.at(-1)];
    const home = way.closed && first && end && Math.hypot(first[0] - end[0], first[1] - end[1]) < 1e-3;
    return home ? { ...way, points: way.points.slice(0, -1) } : way;
  });
};

const svgWays = (bytes: Uint8Array): Way[] =>
  ringsOfSvg(new TextDecoder().decode(bytes)).map(({ group, closed, dots }) => ({
    operation: group.toLowerCase(),
    closed,
    points: dots.map(([x, y]): Corner => [x, HIGH - y]),
  }));

const READERS: Readonly<Record<CutFormat, (bytes: Uint8Array) => Way[]>> = {
  svg: svgWays,
  dxf: dxfWays,
  hpgl: hpglWays,
  pdf: pdfWays,
};
const FORMATS = ["svg", "dxf", "hpgl", "pdf"] as const;

describe.runIf(oracle("hp2xx") && oracle("mutool") && hasPython("ezdxf"))(
  "a sheet's cut files, each read by another hand (oracles: resvg, ezdxf, hp2xx, mutool)",
  () => {
    let sheet: Sheet;
    const read = {} as Record<CutFormat, Way[]>;
    beforeAll(async () => {
      const { stock, ...rest } = await harbourSheet();
      sheet = { ...rest, stock: { ...stock, cutter: { ...stock.cutter, axes: AXES } } };
      for (const format of FORMATS)
        read[format] = READERS[format](await writeCut(sheet, format)).filter(
          ({ operation }) => operation !== "registration",
        );
    });

    it("agree line by line within 0.02 mm, HP-GL within its unit of 0.025, in the machine's own axes undone", () => {
      const worst: Record<string, number> = {};
      for (const [i, one] of FORMATS.entries())
        for (const other of FORMATS.slice(i + 1)) {
          expect(read[other].map(({ operation, closed }) => [operation, closed])).toEqual(
            read[one].map(({ operation, closed }) => [operation, closed]),
          );
          const off = read[one].map(({ points, closed }, k) => apart(points, read[other][k]?.points ?? [], closed));
          worst[`${one} ${other}`] = Math.max(...off);
          expect(Math.max(...off), `${one} and ${other}`).toBeLessThanOrEqual(
            one === "hpgl" || other === "hpgl" ? 0.025 : 0.02,
          );
        }
      expect(read.svg.length).toBe(sheet.lines.length);
      expect(Object.keys(worst)).toHaveLength(6);
    });

    it("have arcs within 0.005 mm of the circle that the designer drew, where the format has arcs", () => {
      // The round windows of the walls: 8 mm about 30, 25 of the drawing.
      const windows = sheet.placed.flatMap(({ prepared, matrix }) =>
        prepared.piece.piece === "wall"
          ? [apply(matrix, mm(30), mm(25)).map((um) => um / 1000) as Corner[number][]]
          : [],
      );
      expect(windows).toHaveLength(4);
      for (const format of ["svg", "dxf", "pdf"] as const)
        for (const [x = NaN, y = NaN] of windows) {
          const off = (way: Way): number =>
            Math.max(...way.points.map((p) => Math.abs(Math.hypot(p[0] - x, p[1] - y) - 8)));
          const least = Math.min(...read[format].filter(({ closed, points }) => closed && points.length > 32).map(off));
          expect(least, `${format}, the window at ${x} ${y}`).toBeLessThanOrEqual(0.005);
        }
    });
  },
);
