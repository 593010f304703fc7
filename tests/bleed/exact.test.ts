// Every band pixel takes the value of its nearest source: held against brute force over all pixels, ties and all.
import { execFileSync } from "node:child_process";
import type { Outline } from "@kitforme/geometry";
import { fillBand, minusRuns, nearest, nearestPlain, type PixelGrid, rasterise, type Runs } from "@kitforme/bleed";
import { describe, expect, it } from "vitest";
import { random } from "../bench/bleed/contours.ts";

type Ring = readonly (readonly [x: number, y: number])[];

/** 1000 µm a pixel, so that micrometres place corners anywhere within it. */
const outlineOf = (rings: readonly Ring[]): Outline<"drawing"> => {
  const [outer, ...openings] = rings.map((r) =>
    r.map(([x, y]) => ({ x: Math.round(x * 1000), y: Math.round(y * 1000) })),
  );
  return { outer: outer ?? [], openings };
};

const star = (rand: () => number, x: number, y: number, radius: number, corners: number): Ring =>
  Array.from({ length: corners }, (_, i) => {
    const angle = (2 * Math.PI * i) / corners;
    const r = radius * (0.25 + 0.75 * rand());
    return [x + r * Math.cos(angle), y + r * Math.sin(angle)] as const;
  });

/** Every pixel carries its own index as its value. */
const numbered = (width: number, height: number): { grid: PixelGrid; words: Int32Array } => {
  const words = Int32Array.from({ length: width * height }, (_, i) => i);
  const box = { x: 0, y: 0, width: width * 1000, height: height * 1000 };
  return {
    grid: { width, height, channels: 4, depth: 8, data: new Uint8Array(words.buffer), alpha: false, box },
    words,
  };
};

const pixelsOf = (set: Runs): [x: number, y: number][] => {
  const out: [number, number][] = [];
  for (let y = 0; y < set.rows; y++)
    for (let i = set.start[y] as number; i < (set.start[y + 1] as number); i += 2)
      for (let x = set.ends[i] as number; x < (set.ends[i + 1] as number); x++) out.push([x, y]);
  return out;
};

/** Even-odd, pixel centre by pixel centre: another way than scanlines. */
const inside = (rings: readonly Ring[], px: number, py: number): boolean => {
  let odd = false;
  for (const ring of rings)
    ring.forEach(([ax, ay], i) => {
      const [bx, by] = ring[(i + 1) % ring.length] as readonly [number, number];
      if (ay > py !== by > py && px < ax + ((py - ay) * (bx - ax)) / (by - ay)) odd = !odd;
    });
  return odd;
};

/** Sources in the order that wins ties: by column, then by row. */
const nearestOf = (
  sources: readonly (readonly [number, number])[],
  x: number,
  y: number,
): readonly [number, number] => {
  let best = sources[0] as readonly [number, number];
  let least = Number.POSITIVE_INFINITY;
  for (const s of sources) {
    const d = (s[0] - x) ** 2 + (s[1] - y) ** 2;
    if (d < least) [best, least] = [s, d];
  }
  return best;
};

const byColumn = (a: readonly [number, number], b: readonly [number, number]): number => a[0] - b[0] || a[1] - b[1];

describe("exact nearest source", () => {
  it("equals brute force on at least 100,000 pixels, ties to the left column, then the upper row", () => {
    const rand = random(20_261_125);
    let pixels = 0;
    const wrong: string[] = [];
    for (let image = 0; pixels < 100_000; image++) {
      const [width, height] = [50 + Math.floor(rand() * 50), 40 + Math.floor(rand() * 50)];
      const body = [star(rand, width / 2, height / 2, width / 4, 3 + Math.floor(rand() * 9))];
      if (image % 2) body.push(star(rand, width / 2, height / 2, 5, 5));
      if (image % 3 === 0) body.push(star(rand, width * 0.9, height * 0.1, 4, 3));
      const parts = [outlineOf(body)];
      const placed = body.map((ring) =>
        ring.map(([x, y]) => [Math.round(x * 1000) / 1000, Math.round(y * 1000) / 1000] as const),
      );
      const around: Ring[] = [
        [
          [0, 0],
          [width, 0],
          [width, height],
          [0, height],
        ],
      ];
      const { grid, words } = numbered(width, height);
      // A far too small guess on every other image: the search has to widen by itself.
      const filled = fillBand(grid, parts, [outlineOf(around)], image % 2 ? 12_000 : 1);
      const sources: [number, number][] = [];
      for (let y = 0; y < height; y++)
        for (let x = 0; x < width; x++) if (inside(placed, x + 0.5, y + 0.5)) sources.push([x, y]);
      if (sources.length === 0) {
        expect(filled).toBe(0);
        continue;
      }
      sources.sort(byColumn);
      const isSource = new Set(sources.map(([x, y]) => y * width + x));
      expect(filled).toBe(width * height - sources.length);
      for (let y = 0; y < height; y++)
        for (let x = 0; x < width; x++) {
          const got = words[y * width + x];
          if (isSource.has(y * width + x)) {
            if (got !== y * width + x) wrong.push(`${image}: source ${x},${y} was changed`);
            continue;
          }
          const [sx, sy] = nearestOf(sources, x, y);
          if (got !== sy * width + sx) wrong.push(`${image}: ${x},${y} has ${got}, not ${sx},${sy}`);
          pixels++;
        }
    }
    expect(wrong).toEqual([]);
    expect(pixels).toBeGreaterThanOrEqual(100_000);
  });

  it("finds the source of a pixel beyond the guess: a needle thinner than a pixel holds none", () => {
    // The needle runs 60 px out and its reach with it; the colour is back at the block.
    const block: Ring = [
      [10, 20],
      [20, 20],
      [20, 24.6],
      [80, 24.7],
      [20, 24.8],
      [20, 30],
      [10, 30],
    ];
    const reach: Ring = [
      [7, 17],
      [23, 17],
      [83, 21],
      [83, 28],
      [23, 33],
      [7, 33],
    ];
    const { grid, words } = numbered(90, 50);
    fillBand(grid, [outlineOf([block])], [outlineOf([reach])], 3000);
    const sources = pixelsOf(rasterise([Float64Array.from(block.flat())], 90, 50)).sort(byColumn);
    const [sx, sy] = nearestOf(sources, 82, 24);
    expect(82 - sx).toBeGreaterThan(5);
    expect(words[24 * 90 + 82]).toBe(sy * 90 + sx);
  });

  it("plain and WebAssembly search agree to the last index, with a limit too", () => {
    const rand = random(7);
    let compared = 0;
    for (let k = 0; k < 40; k++) {
      const [width, rows] = [200, 160];
      const body = Float64Array.from(star(rand, 100, 80, 60, 3 + (k % 20)).flat());
      const source = rasterise([body], width, rows);
      const around = rasterise([Float64Array.of(0, 0, width, 0, width, rows, 0, rows)], width, rows);
      const request = {
        source,
        target: minusRuns(around, source),
        width,
        reach: 1 + (k % 50),
        stride: 1000,
        offset: -77,
        ...(k % 3 ? {} : { limit: 20.5 }),
      };
      const fast = nearest(request);
      const plain = nearestPlain(request);
      expect(Buffer.compare(Buffer.from(fast.from.buffer), Buffer.from(plain.from.buffer))).toBe(0);
      expect(Buffer.compare(Buffer.from(fast.before.buffer), Buffer.from(plain.before.buffer))).toBe(0);
      compared += fast.from.length;
      expect(fast.from.some((i) => i === -1)).toBe(k % 3 === 0);
    }
    expect(compared).toBeGreaterThan(500_000);
  });

  it("fills as the plain raster and the plain search do, also a comb of 3,000 teeth and canvases wider than 8,192", () => {
    const comb: Ring = Array.from({ length: 6000 }, (_, i) => [
      2 + (i % 2999) * 0.031,
      i < 3000 ? 5 + (i % 7) : 40 - (i % 5),
    ]);
    const rand = random(3);
    const cases: readonly (readonly [rings: Ring[], width: number, rows: number, guess: number])[] = [
      [[comb], 100, 50, 4],
      [[star(rand, 50, 50, 49, 400), star(rand, 50, 50, 20, 90)], 100, 100, 3],
      // Rings that stick out of the canvas on every side.
      [[star(rand, 20, 20, 60, 31)], 70, 60, 9],
      [
        [
          [
            [0.2, 0.4],
            [2.7, 0.4],
            [1.5, 5],
          ],
          [
            [11_990, 1],
            [11_999, 1],
            [11_995, 5.5],
          ],
        ],
        12_000,
        7,
        9000,
      ],
    ];
    for (const [rings, width, rows, guess] of cases) {
      const { grid, words } = numbered(width, rows);
      const all: Ring = [
        [0, 0],
        [width, 0],
        [width, rows],
        [0, rows],
      ];
      const placed = rings.map((ring) => Float64Array.from(ring.flat(), (v) => Math.round(v * 1000) / 1000));
      const source = rasterise(placed, width, rows);
      const target = minusRuns(rasterise([Float64Array.from(all.flat())], width, rows), source);
      const { from } = nearestPlain({ source, target, width, reach: guess, stride: width, offset: 0 });
      expect(fillBand(grid, [outlineOf(rings)], [outlineOf([all])], (guess - 2) * 1000)).toBe(from.length);
      const got = Int32Array.from(pixelsOf(target), ([x, y]) => words[y * width + x] as number);
      expect(from.length).toBeGreaterThan(1000);
      expect(Buffer.compare(Buffer.from(got.buffer), Buffer.from(from.buffer))).toBe(0);
    }
  });

  it("the WebAssembly binary is what its source gives", () => {
    expect(() =>
      execFileSync(process.execPath, ["--import", "tsx", "packages/bleed/assembly/build.ts", "--check"], {
        stdio: "pipe",
      }),
    ).not.toThrow();
  });

  it.each([1, 2, 3, 4, 5].flatMap((channels) => [8, 16].map((depth) => [channels, depth] as const)))(
    "%i channels of %i bits keep every value together",
    (channels, depth) => {
      const [width, height] = [40, 30];
      const data = depth === 8 ? new Uint8Array(width * height * channels) : new Uint16Array(width * height * channels);
      const rand = random(channels * depth);
      for (let i = 0; i < data.length; i++) data[i] = Math.floor(rand() * 2 ** depth);
      const before = data.slice();
      const body: Ring = [
        [12, 10],
        [28, 9],
        [30, 21],
        [13, 20],
      ];
      const box = { x: 0, y: 0, width: 40_000, height: 30_000 };
      const alpha = channels === 2 || channels === 5;
      const grid: PixelGrid = { width, height, channels: channels as 1, depth: depth as 8, data, alpha, box };
      fillBand(
        grid,
        [outlineOf([body])],
        [
          outlineOf([
            [
              [8, 6],
              [33, 6],
              [33, 25],
              [8, 25],
            ],
          ]),
        ],
        4000,
      );
      const sources = pixelsOf(rasterise([Float64Array.from(body.flat())], width, height)).sort(byColumn);
      const isSource = new Set(sources.map(([x, y]) => y * width + x));
      const colours = alpha ? channels - 1 : channels;
      for (let y = 0; y < height; y++)
        for (let x = 0; x < width; x++) {
          const at = (y * width + x) * channels;
          const made = x >= 8 && x < 33 && y >= 6 && y < 25 && !isSource.has(y * width + x);
          const [sx, sy] = made ? nearestOf(sources, x, y) : [x, y];
          const from = (sy * width + sx) * channels;
          expect(data.subarray(at, at + colours)).toEqual(before.subarray(from, from + colours));
          if (alpha) expect(data[at + colours]).toBe(made ? 2 ** depth - 1 : before[at + colours]);
        }
    },
  );
});
