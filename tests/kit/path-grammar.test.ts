// The grammar of path data. Source: SVG 1.1 (Second Edition), 8.3 and its BNF in 8.3.9, F.6 for arcs; standards sheet 7.3.
import { describe, expect, it } from "vitest";
import { dots, pieceOf, svgMm } from "../support/kits.ts";

const crease = async (d: string) => {
  const inner = `<rect id="cut" width="100" height="100"/><path id="line" d="${d}"/>`;
  return pieceOf(svgMm(100, 100, inner), { lines: { cutting: "#cut", creasing: "#line" } });
};

/** Path data, and the points of its lines in millimetres. */
const LEGAL: [string, [number, number][][]][] = [
  [
    "M1 2L3 4",
    [
      [
        [1, 2],
        [3, 4],
      ],
    ],
  ],
  [
    "m1 2l3 4",
    [
      [
        [1, 2],
        [4, 6],
      ],
    ],
  ],
  [
    "M1,2,3,4",
    [
      [
        [1, 2],
        [3, 4],
      ],
    ],
  ],
  [
    "m1 2 3 4 5 6",
    [
      [
        [1, 2],
        [4, 6],
        [9, 12],
      ],
    ],
  ],
  [
    "M1.5.5L3.5.25",
    [
      [
        [1.5, 0.5],
        [3.5, 0.25],
      ],
    ],
  ],
  [
    "M20 20l1-2-3-4",
    [
      [
        [20, 20],
        [21, 18],
        [18, 14],
      ],
    ],
  ],
  [
    "M1e1 2E0L.3e2+4",
    [
      [
        [10, 2],
        [30, 4],
      ],
    ],
  ],
  [
    "M10-0L+3 4",
    [
      [
        [10, 0],
        [3, 4],
      ],
    ],
  ],
  [
    "\n\tM 1 ,2 L 3\r4 ",
    [
      [
        [1, 2],
        [3, 4],
      ],
    ],
  ],
  [
    "M1 2H5V9h-2v-3",
    [
      [
        [1, 2],
        [5, 2],
        [5, 9],
        [3, 9],
        [3, 6],
      ],
    ],
  ],
  [
    "M1 2H5 7",
    [
      [
        [1, 2],
        [5, 2],
        [7, 2],
      ],
    ],
  ],
  [
    "M1 2M5 5L6 6",
    [
      [
        [5, 5],
        [6, 6],
      ],
    ],
  ],
  [
    "M1 1L2 2M5 5L6 6",
    [
      [
        [1, 1],
        [2, 2],
      ],
      [
        [5, 5],
        [6, 6],
      ],
    ],
  ],
  // After Z the current point is the subpath's start.
  [
    "M1 1H5V5ZL9 9",
    [
      [
        [1, 1],
        [5, 1],
        [5, 5],
      ],
      [
        [1, 1],
        [9, 9],
      ],
    ],
  ],
  [
    "M1 1h4v4zm10 0h4v4z",
    [
      [
        [1, 1],
        [5, 1],
        [5, 5],
      ],
      [
        [11, 1],
        [15, 1],
        [15, 5],
      ],
    ],
  ],
  // A radius of 0 is a straight line (F.6.2), also for arcs with glued flags.
  [
    "M1 1A0 5 0 0 1 9 9",
    [
      [
        [1, 1],
        [9, 9],
      ],
    ],
  ],
  [
    "M1 1a5 0 30 109 9",
    [
      [
        [1, 1],
        [10, 10],
      ],
    ],
  ],
];

/** Path data with curves: the first and last points and how many points at least. */
const CURVES: [string, [number, number], [number, number]][] = [
  ["M10 10C20 10 30 20 30 30", [10, 10], [30, 30]],
  ["M10 10c10 0 20 10 20 20s0 20 20 20", [10, 10], [50, 50]],
  ["M10 10S20 20 30 10", [10, 10], [30, 10]],
  ["M10 10Q20 30 40 10T70 10", [10, 10], [70, 10]],
  ["M10 10q10 20 30 0t30 0", [10, 10], [70, 10]],
  ["M10 50a20 20 0 0140 0", [10, 50], [50, 50]],
  ["M10 50a20 20 0 1040 0", [10, 50], [50, 50]],
  ["M10 50a20 20 0 11.5.5", [10, 50], [10.5, 50.5]],
  ["M10 50A20,20,0,0,1,50,50", [10, 50], [50, 50]],
  // Radii too small are scaled up (F.6.6).
  ["M10 50A1 1 0 0 1 50 50", [10, 50], [50, 50]],
  ["M10 50A-20-20 0 0 1 50 50", [10, 50], [50, 50]],
];

const BROKEN = [
  "L1 2",
  "1 2",
  "M1",
  "M1 2L3",
  "M1 2L3 4X5 6",
  "M1 2L3,,4",
  "M1 2C3 4 5 6 7",
  "M1 2A5 5 0 2 1 9 9",
  "M1 2A5 5 0 0 9 9",
  "M1 2L1e 4",
  "M1 2L. 4",
  "M1 2L1e400 4",
  "M1 2L99999999 4",
  "M1 2R3 4 5 6",
  "M1 2L3 4,",
  "M1 2LNaN 4",
  "M1 2A1e300 1e300 0 0 1 9 9",
];

describe("path data", () => {
  it.each(LEGAL)("%j is read", async (d, lines) => {
    const read = await crease(d.replaceAll("\n", "&#10;").replaceAll("\t", "&#9;").replaceAll("\r", "&#13;"));
    expect(read.findings.filter((f) => f.level === "error")).toEqual([]);
    expect(read.lines.filter((l) => l.operation === "creasing").map(dots)).toEqual(lines);
  });
  it.each(CURVES)("%j is read as a curve", async (d, from, to) => {
    const read = await crease(d);
    expect(read.findings.filter((f) => f.level === "error")).toEqual([]);
    const points = dots(read.lines.find((l) => l.operation === "creasing"));
    expect(points[0]).toEqual(from);
    expect(points.at(-1)).toEqual(to);
    expect(points.length).toBeGreaterThan(8);
  });
  it.each(BROKEN)("%j is told as unreadable, not drawn up to the fault", async (d) => {
    const { findings, piece } = await crease(d);
    expect(piece).toBeUndefined();
    expect(findings).toMatchObject([
      { rule: "value-unreadable", where: { kit: "k", piece: "p", operation: "creasing" } },
    ]);
  });
  it("tells at which character", async () => {
    const { findings } = await crease("M1 2L3 4X5 6");
    expect(findings[0]?.message).toContain("character 8");
  });
  it("flags and sweep make four different arcs", async () => {
    const middles = await Promise.all(
      ["0 0", "0 1", "1 0", "1 1"].map(async (flags) => {
        const { lines } = await crease(`M40 50A15 15 0 ${flags} 60 50`);
        const points = dots(lines.find((l) => l.operation === "creasing"));
        return points[Math.floor(points.length / 2)]?.[1] ?? 0;
      }),
    );
    // Sagitta of a chord of 20 in a circle of 15: 15 -+ sqrt(15^2 - 10^2); y runs down, sweep 1 goes over the top.
    const root = Math.sqrt(125);
    const expected = [50 + 15 - root, 50 - 15 + root, 50 + 15 + root, 50 - 15 - root];
    middles.forEach((y, i) => expect(Math.abs(y - (expected[i] ?? 0))).toBeLessThan(0.05));
  });
});
