// Traps of bleeding, each small enough to be seen. All rules are ours; common practice, no source, unless said.
import { grow, type Outline } from "@kitforme/geometry";
import { BleedCache, makeBleed } from "@kitforme/bleed";
import { describe, expect, it } from "vitest";
import { bled, outline, PIXEL, picture, printed, shown, square } from "./drawn.ts";

describe("made bleed", () => {
  it("continues the edge colours outward, whatever lies inside", () => {
    const made = bled(
      picture(["........", "........", "..rrgg..", "..rbbg..", "..rbbg..", "..rrgg..", "........", "........"], true),
      [outline(square(2, 2, 6, 6))],
      2,
    );
    expect(shown(made, 0, 0, 8, 8)).toEqual(
      ["rrrrgggg", "rrrrgggg", "rrrrgggg", "rrrbbggg", "rrrbbggg", "rrrrgggg", "rrrrgggg", "rrrrgggg"].map((row) =>
        expect.stringMatching(new RegExp(`^.?${row.slice(1, 7)}.?$`)),
      ),
    );
    expect(made).toMatchObject({ own: 0, least: 2 * PIXEL, rim: { blank: 0 } });
    expect(made.tiles).toEqual([]);
  });

  it("reaches past the end of the picture", () => {
    const made = bled(picture(["rrgg", "rrgg", "bbyy", "bbyy"], false), [outline(square(0, 0, 4, 4))], 3);
    expect(shown(made, -3, -3, 7, 7)).toEqual([
      "rrrrrggggg",
      "rrrrrggggg",
      "rrrrrggggg",
      "rrrrrggggg",
      "rrrrrggggg",
      "bbbbbyyyyy",
      "bbbbbyyyyy",
      "bbbbbyyyyy",
      "bbbbbyyyyy",
      "bbbbbyyyyy",
    ]);
    expect(made.keep).toEqual([outline(square(0, 0, 4, 4)).outer]);
  });

  it("fills an opening narrower than twice the bleed to its middle", () => {
    const rows = ["rrrrrrrrr", "rrrrrrrrr", "rrr...ggg", "rrr...ggg", "rrr...ggg", "ggggggggg", "ggggggggg"];
    const parts = [outline(square(0, 0, 9, 7), square(3, 2, 6, 5).reverse())];
    const made = bled(picture(rows, true), parts, 3);
    expect(shown(made, 3, 2, 6, 5)).toEqual(["rrr", "rrg", "rgg"]);
  });

  it("never spreads the fringe: not that of transparent artwork", () => {
    const rows = ["..........", "..ffffff..", "..frrrrf..", "..frrrrf..", "..frrrrf..", "..ffffff..", ".........."];
    const made = bled(picture(rows, true), [outline(square(2.4, 1.4, 7.6, 5.6))], 2);
    // Outside the contour there is pure red; inside, half-transparent pixels lie over that red.
    for (let x = 1; x < 9; x++) expect(printed(made, x, 0), `column ${x}`).toBe("r");
    for (let y = 0; y < 7; y++) expect(printed(made, 1, y), `row ${y}`).toBe("r");
  });

  it("never spreads the fringe: not that of opaque artwork on a white page", () => {
    const rows = ["..........", "..ffffff..", "..frrrrf..", "..frrrrf..", "..frrrrf..", "..ffffff..", ".........."];
    const made = bled(picture(rows, false), [outline(square(2.4, 1.4, 7.6, 5.6))], 2);
    expect(shown(made, 1, 0, 9, 7).join("")).toMatch(/^r+$/);
  });

  it("keeps the bleed of a tine thinner than a pixel", () => {
    // A green tine of 0.4 px between two pixel centres stands on a red block: without the crossed pixels it would bleed red.
    const rows = [
      "....gg.....",
      "....gg.....",
      "....gg.....",
      "....gg.....",
      "....gg.....",
      "....gg.....",
      "rrrrrrrrrrr",
      "rrrrrrrrrrr",
      "rrrrrrrrrrr",
      "rrrrrrrrrrr",
    ];
    const tine: Outline<"drawing"> = outline([
      [0, 6],
      [4.8, 6],
      [4.8, 0],
      [5.2, 0],
      [5.2, 6],
      [11, 6],
      [11, 10],
      [0, 10],
    ]);
    const made = bled(picture(rows, true), [tine], 2, { ownBleed: false });
    expect(printed(made, 3, 1)).toBe("g");
    expect(printed(made, 6, 1)).toBe("g");
    expect(printed(made, 5, -1)).toBe("g");
  });

  it("keeps the bleed of a tine that the inset would eat whole", () => {
    const rows = [
      "....gg.....",
      "....gg.....",
      "....gg.....",
      "....gg.....",
      "....gg.....",
      "....gg.....",
      "....gg.....",
      "....gg.....",
      "rrrrrrrrrrr",
      "rrrrrrrrrrr",
      "rrrrrrrrrrr",
      "rrrrrrrrrrr",
      "rrrrrrrrrrr",
    ];
    const tine = outline([
      [0, 8],
      [4, 8],
      [4, 0],
      [6, 0],
      [6, 8],
      [11, 8],
      [11, 13],
      [0, 13],
    ]);
    for (const source of ["clean", "jpeg"] as const) {
      const made = bled(picture(rows, false), [tine], 2, { source });
      expect(printed(made, 3, 1), source).toBe("g");
      expect(printed(made, 6, 1), source).toBe("g");
    }
  });
});

describe("a wash", () => {
  it("bleeds as it prints over paper, once, beside opaque artwork and alone", () => {
    const rows = Array.from({ length: 12 }, () => "vvvvvvvvvvvvrrrrrr");
    const body = [outline(square(0, 0, 18, 12))];
    for (const spread of ["nearest", "soft"] as const) {
      const made = bled(picture(rows, true), body, 3, { spread });
      expect(made.rim.blank).toBe(0);
      expect(shown(made, -2, 2, 8, 10).join(""), spread).toMatch(/^v+$/);
      expect(shown(made, 13, 2, 20, 10).join(""), spread).toMatch(/^r+$/);
    }
    const alone = bled(
      picture(
        rows.map((row) => row.replace(/r/g, "v")),
        true,
      ),
      body,
      3,
    );
    expect(shown(alone, -2, 0, 20, 12).join("")).toMatch(/^v+$/);
  });
});

describe("the designer's own bleed", () => {
  const rows = [
    "............",
    "............",
    "............",
    "rrrrrrrr....",
    "gggrrrrr....",
    "rrrrrrrr....",
    "gggrrrrr....",
    "rrrrrrrr....",
    "............",
    "............",
    "............",
  ];
  const body = [outline(square(3, 3, 8, 8))];

  it("stays where it is, and what is made joins it", () => {
    const made = bled(picture(rows, true), body, 3);
    expect(shown(made, 0, 3, 3, 8)).toEqual(["rrr", "ggg", "rrr", "ggg", "rrr"]);
    expect(shown(made, 8, 3, 11, 8).join("")).toMatch(/^r+$/);
    expect(made.own).toBe(15 * PIXEL ** 2);
    expect(made.made).toBeGreaterThan(made.own);
  });

  it("is remade when it is not trusted", () => {
    const made = bled(picture(rows, true), body, 3, { ownBleed: false });
    expect(shown(made, 0, 3, 3, 8).join("")).toMatch(/^r+$/);
    expect(made.own).toBe(0);
  });

  it("is no speck that hangs in the air beside the piece", () => {
    const made = bled(
      picture(["......", ".g....", "......", "..rrr.", "..rrr.", "..rrr."], true),
      [outline(square(2, 3, 5, 6))],
      2,
    );
    expect(printed(made, 1, 1)).toBe("r");
    expect(made.own).toBe(0);
  });

  it("is not the white page of opaque artwork, nor a flat coloured one", () => {
    const page = (p: string) => [
      ...Array.from({ length: 6 }, () => p.repeat(18)),
      ...Array.from({ length: 6 }, () => p.repeat(6) + "rrgrgr" + p.repeat(6)),
      ...Array.from({ length: 6 }, () => p.repeat(18)),
    ];
    for (const p of ["w", "b"]) {
      const made = bled(picture(page(p), false), [outline(square(6, 6, 12, 12))], 5);
      expect(made.own, p).toBe(0);
      expect(shown(made, 2, 2, 16, 16).join(""), p).toMatch(/^[rg]+$/);
    }
  });

  it("is artwork that runs on past the contour of an opaque picture", () => {
    const striped = Array.from({ length: 18 }, (_, y) => (y % 2 ? "r" : "g").repeat(18));
    const made = bled(picture(striped, false), [outline(square(6, 6, 12, 12))], 5);
    expect(made.made).toBe(0);
    expect(made.tiles).toEqual([]);
    expect(made.keep).toEqual(grow([outline(square(6, 6, 12, 12))], 5 * PIXEL).map((o) => o.outer));
  });
});

describe("paper inside the outline", () => {
  const art = (gap: number) =>
    Array.from({ length: 20 }, (_, y) =>
      Array.from({ length: 20 }, (_, x) => (x >= gap && y >= gap && x < 20 - gap && y < 20 - gap ? "r" : ".")).join(""),
    );
  const body = [outline(square(0, 0, 20, 20))];

  it("is closed when the artwork stops short by no more than the gap", () => {
    for (const alpha of [true, false]) {
      const made = bled(picture(art(2), alpha), body, 3);
      expect(made.rim.blank).toBe(0);
      expect(made.carried).toBe(2 * PIXEL);
      expect(shown(made, -2, 0, 22, 2).join("")).toMatch(/^r+$/);
      expect(shown(made, -2, 0, 2, 20).join("")).toMatch(/^r+$/);
    }
  });

  it("is a colour when the artwork ends farther inside: it bleeds paper, and says so", () => {
    for (const alpha of [true, false]) {
      const made = bled(picture(art(5), alpha), body, 3);
      expect(made.carried).toBe(0);
      // The pixels along the edge of a square of 20.
      expect(made.rim.allRound).toBe(true);
      expect(made.rim.blank).toBeCloseTo(7.6, 9);
      expect(shown(made, -2, 0, 5, 20).join("")).toMatch(/^[.w ]+$/);
    }
  });

  it("is carried out beside ink, each for itself, with the places where it is paper", () => {
    const rows = art(5).map((row, y) => (y < 10 ? row.replace(/^.{10}/, "r".repeat(10)) : row));
    const made = bled(picture(rows, true), body, 3);
    expect(made.rim.allRound).toBe(false);
    expect(made.rim.stretches).toHaveLength(1);
    expect(made.rim.blank).toBeCloseTo(7.6 - 1.9, 9);
    expect(shown(made, -2, 0, 0, 20)).toEqual([...Array(10).fill("rr"), ...Array(10).fill("..")]);
  });

  it("between the dots of a one-bit picture is no gap", () => {
    // Dots in a lattice: every white pixel at the edge has a dot within two pixels on the way inward.
    const dots = (x: number, y: number) => (x % 3 === y % 3 ? 0 : 255);
    const grid = picture(art(0), false);
    for (let i = 0; i < grid.data.length; i++) grid.data[i] = dots(Math.floor(i / 3) % 20, Math.floor(i / 60));
    const made = bled(grid, body, 3, { source: "clean" });
    expect(made.carried).toBe(0);
    expect(made.rim.blank / made.rim.length).toBeCloseTo(2 / 3, 1);
  });

  describe("of one-bit pictures", () => {
    const card = [outline(square(20, 20, 100, 100))];
    const oneBit = (ink: (x: number, y: number) => boolean) => {
      const grid = picture(
        Array.from({ length: 120 }, () => "w".repeat(120)),
        false,
      );
      for (let i = 0; i < grid.data.length; i++)
        grid.data[i] = ink(Math.floor(i / 3) % 120, Math.floor(i / 360)) ? 0 : 255;
      return grid;
    };
    /** Rows of the left band, outward: 1 for ink. */
    const left = (made: ReturnType<typeof bled>): number[][] =>
      Array.from({ length: 60 }, (_, y) =>
        Array.from({ length: 18 }, (_, x) => {
          for (const { box, width, height, data } of [...made.tiles].reverse()) {
            const [px, py] = [19 - x - Math.round(box.x / PIXEL), 30 + y - Math.round(box.y / PIXEL)];
            if (px >= 0 && py >= 0 && px < width && py < height) return data[(py * width + px) * 3] === 0 ? 1 : 0;
          }
          return 0;
        }),
      );

    it("goes on as a texture: no streaks, the same tone", () => {
      const rand = (x: number, y: number) => (Math.imul(x * 7919 + y * 104_729 + 17, 2_654_435_761) >>> 8) % 100;
      for (const tone of [6, 30, 70]) {
        const rows = left(
          bled(
            oneBit((x, y) => rand(x, y) < tone),
            card,
            18,
            { ownBleed: false },
          ),
        );
        const inked = rows.flat().filter((v) => v === 1).length / (60 * 18);
        expect(Math.abs(inked - tone / 100), `${tone} %`).toBeLessThan(0.06);
        // The nearest pixel alone would give every row one value from end to end.
        const streaks = rows.filter((row) => row.slice(2, 15).every((v) => v === 1)).length;
        expect(streaks, `${tone} %`).toBeLessThan(3);
      }
    });

    it("goes on as lines and areas where it has those", () => {
      const frame = left(
        bled(
          oneBit((x, y) => Math.min(x, y, 119 - x, 119 - y) === 25),
          card,
          18,
          { ownBleed: false },
        ),
      );
      expect(frame.flat()).not.toContain(1);
      const stripes = left(
        bled(
          oneBit((_, y) => y % 24 < 12),
          card,
          18,
          { ownBleed: false },
        ),
      );
      for (const row of stripes) expect(new Set(row).size).toBe(1);
      expect(stripes.filter((row) => row[0] === 1).length).toBeGreaterThan(20);
    });
  });

  it("is a design where it does not meet the contour", () => {
    const rows = art(0).map((row, y) => (y > 5 && y < 14 ? `${row.slice(0, 6)}........${row.slice(14)}` : row));
    const made = bled(picture(rows, true), body, 3);
    expect(made.rim.blank).toBe(0);
    expect(printed(made, 9, 9)).toBe(".");
  });

  it("everywhere means there is nothing to take colour from", () => {
    const grid = picture(art(20), true);
    const reach = grow(body, 300);
    expect(
      makeBleed({
        grid,
        parts: body,
        reach,
        bleed: 300,
        source: "alpha",
        ownBleed: "auto",
        gap: 200,
        spread: "nearest",
      }),
    ).toEqual({ empty: true });
  });
});

describe("the ring", () => {
  const rand = (i: number) => (Math.imul(i + 1, 2_654_435_761) >>> 13) & 255;
  const noisy = (width: number, height: number) => {
    const grid = picture(
      Array.from({ length: height }, () => "r".repeat(width)),
      false,
    );
    grid.data.forEach((_, i) => (grid.data[i] = rand(i)));
    return grid;
  };
  const hexagon = outline([
    [160, 20],
    [290, 90],
    [290, 210],
    [160, 280],
    [30, 210],
    [30, 90],
  ]);

  it("carries the very pixels of the artwork under it, at least 3 deep, and overlaps from tile to tile", () => {
    const grid = noisy(320, 300);
    const made = bled(grid, [hexagon], 20, { ownBleed: false });
    expect(made.tiles.length).toBeGreaterThan(4);
    const covered = new Map<number, number>();
    for (const { box, width, height, data } of made.tiles) {
      const [x0, y0] = [Math.round(box.x / PIXEL), Math.round(box.y / PIXEL)];
      for (let y = 0; y < height; y++)
        for (let x = 0; x < width; x++) {
          const key = (y0 + y + 500) * 2000 + x0 + x + 500;
          const value =
            (data[(y * width + x) * 3] as number) * 65_536 +
            (data[(y * width + x) * 3 + 1] as number) * 256 +
            (data[(y * width + x) * 3 + 2] as number);
          // Where tiles overlap in ring pixels they agree; filler may differ, and is never near the contour.
          if (!covered.has(key)) covered.set(key, value);
        }
    }
    // Left edge of the hexagon: x = 30, between y = 90 and 210. Pixel 31 is the first that is no fringe.
    for (let y = 100; y < 200; y++)
      for (let x = 31; x < 34; x++) {
        const at = (y * 320 + x) * 3;
        const value =
          (grid.data[at] as number) * 65_536 + (grid.data[at + 1] as number) * 256 + (grid.data[at + 2] as number);
        expect(covered.get((y + 500) * 2000 + x + 500), `${x},${y}`).toBe(value);
      }
  });

  it("is the same bytes again, and from the cache, whatever the picture before was", () => {
    const cache = new BleedCache();
    const grid = noisy(320, 300);
    const fresh = bled(grid, [hexagon], 20, { ownBleed: false });
    bled(
      picture(
        Array.from({ length: 300 }, () => "g".repeat(320)),
        false,
      ),
      [hexagon],
      20,
      { ownBleed: false, cache },
    );
    expect(cache.bytes).toBeGreaterThan(10_000);
    const held = cache.bytes;
    const again = bled(grid, [hexagon], 20, { ownBleed: false, cache });
    expect(again.tiles).toHaveLength(fresh.tiles.length);
    again.tiles.forEach(({ box, data }, i) => {
      expect(box).toEqual(fresh.tiles[i]?.box);
      expect(Buffer.compare(data, fresh.tiles[i]?.data as Uint8Array)).toBe(0);
    });
    expect({ ...again, tiles: [] }).toEqual({ ...fresh, tiles: [] });
    expect(cache.bytes).toBe(held);
  });

  it("is not taken from the cache when own bleed or gaps of another picture decide it", () => {
    const cache = new BleedCache();
    const body = [outline(square(3, 3, 8, 8))];
    const plain = [
      "...........",
      "...........",
      "...........",
      "...rrrrr...",
      "...rrrrr...",
      "...rrrrr...",
      "...rrrrr...",
      "...rrrrr...",
      "...........",
      "...........",
      "...........",
    ];
    const withOwn = plain.map((row, y) => (y > 2 && y < 8 ? `ggg${row.slice(3)}` : row));
    bled(picture(withOwn, true), body, 3, { cache });
    expect(shown(bled(picture(plain, true), body, 3, { cache }), 0, 3, 3, 8).join("")).toMatch(/^r+$/);
    expect(shown(bled(picture(withOwn, true), body, 3, { cache }), 0, 3, 3, 8).join("")).toMatch(/^g+$/);
  });

  it("leaves the artwork it was given untouched", () => {
    const grid = noisy(320, 300);
    const before = grid.data.slice();
    bled(grid, [hexagon], 20);
    expect(Buffer.compare(grid.data as Uint8Array, before as Uint8Array)).toBe(0);
  });
});

describe("the cache", () => {
  it("holds no more bytes than told, and forgets what was used longest ago", () => {
    const cache = new BleedCache(100);
    cache.remember("a", { bytes: 40 });
    cache.remember("b", { bytes: 40 });
    expect(cache.recall("a")).toEqual({ bytes: 40 });
    cache.remember("c", { bytes: 40 });
    expect(cache.bytes).toBe(80);
    expect(cache.recall("b")).toBeUndefined();
    expect(cache.recall("a")).toBeDefined();
    cache.remember("d", { bytes: 101 });
    expect(cache.recall("d")).toBeUndefined();
    expect(cache.bytes).toBe(80);
  });
});

describe("soft spread", () => {
  it("leaves flat colour flat and mixes only colours of the edge, more the farther out", () => {
    const striped = Array.from(
      { length: 40 },
      (_, y) => `${".".repeat(10)}${(y % 2 ? "r" : "g").repeat(20)}${".".repeat(10)}`,
    );
    const body = [outline(square(10, 0, 30, 40))];
    const soft = bled(picture(striped, true), body, 8, { spread: "soft" });
    const hard = bled(picture(striped, true), body, 8);
    const mixed = (made: typeof soft, x: number) =>
      Array.from({ length: 30 }, (_, i) => printed(made, x, 5 + i)).filter((c) => c === "?").length;
    expect(mixed(hard, 3)).toBe(0);
    expect(mixed(soft, 10)).toBe(0);
    expect(mixed(soft, 3)).toBe(30);
    const flat = bled(
      picture(
        striped.map((row) => row.replace(/g/g, "r")),
        true,
      ),
      body,
      8,
      { spread: "soft" },
    );
    expect(shown(flat, 3, 5, 37, 35).join("")).toMatch(/^r+$/);
  });
});
