import { cautionsFor, type Job, writeDocket } from "@kitforme/files";
import { beforeAll, describe, expect, it } from "vitest";
import { has, poppler, says } from "../support/oracle.ts";
import { harbourJob, jobOf } from "../support/jobs.ts";
import { boardSheet, drawn, insert, piece, placed, sheetOf, wall, words } from "../support/sheets.ts";

const write = async (job: Job): Promise<{ pdf: Uint8Array; rows: string[][] }> => {
  const [pdf, text] = await writeDocket(job);
  if (pdf?.name !== "job.docket.pdf" || text?.name !== "job.docket.txt") throw new Error("two papers, by these names");
  const lines = new TextDecoder().decode(text.bytes).trimEnd().split("\n");
  return { pdf: pdf.bytes, rows: lines.map((l) => l.split("\t")) };
};
const typed = (pdf: Uint8Array): string => says("pdftotext", (f) => ["-layout", f, "-"], pdf);

let job: Job;
let made: Awaited<ReturnType<typeof write>>;
beforeAll(async () => {
  job = await harbourJob();
  made = await write(job);
});

/** `wall 3 × 1:3 + 1:4` as pile to count. */
const piles = (pick: string): Map<string, number> =>
  new Map(
    pick
      .replace(/^\S+ /, "")
      .split(" + ")
      .map((p) => p.split(" × "))
      .map(([a = "", b]) => (b === undefined ? [a, 1] : [b, Number(a)])),
  );

describe("the docket", () => {
  it("is the same bytes for the same job", async () => {
    expect(Buffer.from((await write(structuredClone(job))).pdf).equals(made.pdf)).toBe(true);
  });

  it.runIf(has("pdftotext"))(
    "gives findings with place, further places and remedy, in both papers; notes too",
    async () => {
      const { pdf, rows } = await write(
        await harbourJob({
          findings: [
            {
              level: "warning",
              rule: "paper-thin",
              where: { kit: "lantern", piece: "wall", at: [12, 40.25] },
              places: [
                { kit: "lantern", piece: "wall", at: [12, 40.25] },
                { kit: "lantern", piece: "roof", message: "Only 0.7 mm wide." },
              ],
              more: 3,
              message: "Only 0.5 mm wide.",
              hint: "Widen it.",
            },
            {
              level: "note",
              rule: "opening-closes",
              where: { kit: "lantern" },
              message: "It is filled.",
              hint: "Nothing to do.",
            },
          ],
        }),
      );
      const PLACE = "kit lantern, piece wall, at 12.0 / 40.3 mm";
      const further = "also: piece roof: Only 0.7 mm wide.; and 3 more places";
      expect(rows.filter(([kind]) => kind === "finding")).toEqual([
        ["finding", "warning", "paper-thin", PLACE, "Only 0.5 mm wide.", further, "Widen it."],
        ["finding", "note", "opening-closes", "kit lantern", "It is filled.", "", "Nothing to do."],
      ]);
      const text = typed(pdf).replace(/\s+/g, " ");
      expect(text).toContain(
        `Look here first warning (kit lantern, piece wall, at 12.0 / 40.3 mm): Only 0.5 mm wide. (${further}) What to do: Widen it.`,
      );
      expect(text).toContain("Notes note (kit lantern): It is filled. What to do: Nothing to do.");
    },
  );

  it("lists every number of every sheet with its piece, its words and its orders", () => {
    expect(made.rows.filter(([kind]) => kind === "piece")).toEqual([
      ["piece", "1:1", "harbour-lantern", "wall", "boat: Solveig", "HL-2041 no. 1–13"],
      ["piece", "1:2", "harbour-lantern", "wall", "boat: Ålesund", "HL-2041 no. 14–20; 6 over"],
      ["piece", "1:3", "harbour-lantern", "wall", "", "HL-2042 no. 1–13"],
      ["piece", "1:4", "harbour-lantern", "sticker", "", "HL-2042 no. 1–5; 8 over"],
      ["piece", "1:5", "harbour-lantern", "wall", "", "HL-2042 no. 14–20; 6 over"],
      ["piece", "2:1", "harbour-lantern", "insert", "", "HL-2041 no. 1–5"],
      ["piece", "2:2", "harbour-lantern", "insert", "", "HL-2042 no. 1–5"],
    ]);
  });

  it("gathers kits alike in one line, and a kit across two piles on its own", () => {
    expect(made.rows.filter(([kind, order]) => kind === "pick" && order === "HL-2041")).toEqual([
      ["pick", "HL-2041", "2026-12-04", "harbour-lantern", "1–3", "boat: Solveig", "insert 2:1", "wall 4 × 1:1"],
      ["pick", "HL-2041", "2026-12-04", "harbour-lantern", "4", "boat: Ålesund", "insert 2:1", "wall 1:1 + 3 × 1:2"],
      ["pick", "HL-2041", "2026-12-04", "harbour-lantern", "5", "boat: Ålesund", "insert 2:1", "wall 4 × 1:2"],
    ]);
  });

  it("picks every served piece exactly once: piles empty to what is over", () => {
    const left = new Map<string, number>();
    for (const { sheet } of job.sheets) for (const p of sheet.placed) left.set(`${sheet.sheet}:${p.number}`, sheet.run);
    for (const [kind, , , , copies = "", , ...picks] of made.rows) {
      if (kind !== "pick") continue;
      const [first = 0, last = first] = copies.split("–").map(Number);
      for (const pick of picks)
        for (const [pile, count] of piles(pick)) left.set(pile, (left.get(pile) ?? NaN) - count * (last - first + 1));
    }
    const over = made.rows.filter(([kind]) => kind === "over").map(([, pile = "", , , count]) => [pile, Number(count)]);
    expect([...left].filter(([, count]) => count !== 0)).toEqual(over);
    expect(over).toEqual([
      ["1:2", 6],
      ["1:4", 8],
      ["1:5", 6],
    ]);
  });

  it.runIf(has("qpdf"))("is a sound PDF on A4 (oracles: qpdf, pdfinfo)", () => {
    expect(says("qpdf", (f) => ["--check", f], made.pdf)).toContain("No syntax or stream encoding errors");
    expect(says("pdfinfo", (f) => [f], made.pdf)).toMatch(/Page size:\s+595\.276 x 841\.89 pts \(A4\)/);
  });

  it.runIf(has("pdftotext"))("can be searched: names, orders, places (oracle: pdftotext)", () => {
    const text = typed(made.pdf);
    for (const wanted of [
      "Order HL-2041, due 2026-12-04",
      "boat: Ålesund",
      "wall 1:1 + 3 × 1:2",
      "Sheet 2 of 2",
      "Greyboard 1 mm, unprinted",
    ])
      expect(text).toContain(wanted);
  });

  it.runIf(has("pdftotext"))("runs on over pages with its head and its section repeated", async () => {
    const house = wall();
    const many = sheetOf(
      Array.from({ length: 150 }, (_, i) =>
        placed(
          i + 1,
          house,
          0,
          [40, 400],
          [{ order: "HL-2041", first: i * 4 + 1, last: i * 4 + 4 }],
          [words(`Boat ${i + 1}`, 15, 42, 12)],
        ),
      ),
      { run: 4 },
    );
    const { pdf, rows } = await write(
      jobOf([many], { orders: [{ order: "HL-2041", lines: [{ kit: "harbour-lantern", quantity: 150 }] }] }),
    );
    const text = typed(pdf);
    expect(rows.filter(([kind]) => kind === "pick")).toHaveLength(150);
    for (let i = 1; i <= 150; i++) expect(text.match(new RegExp(`boat: Boat ${i}\\b`, "g"))).toHaveLength(2);
    expect(text).toContain("Order HL-2041, continued");
    expect(text.match(/each kit takes/g)?.length).toBeGreaterThanOrEqual(2);
  });

  it.runIf(has("pdftotext"))("types more letters than one font holds", async () => {
    // Letters of Latin, Greek and Cyrillic that stand alone in Unicode: more than 256.
    const letters = [
      [0x41, 0x5a],
      [0x61, 0x7a],
      [0xc0, 0xd6],
      [0xd8, 0xf6],
      [0xf8, 0x131],
      [0x391, 0x3a1],
      [0x3b1, 0x3c9],
      [0x410, 0x44f],
    ].flatMap(([from = 0, to = 0]) => Array.from({ length: to - from + 1 }, (_, i) => String.fromCodePoint(from + i)));
    const names = Array.from({ length: Math.ceil(letters.length / 10) }, (_, i) =>
      letters.slice(i * 10, i * 10 + 10).join(""),
    );
    expect(letters.length).toBeGreaterThan(256);
    const sheet = sheetOf(
      names.map((name, i) =>
        placed(
          i + 1,
          wall(),
          0,
          [30, 420],
          [{ order: "HL-2041", first: i + 1, last: i + 1 }],
          [words(name, 15, 42, 8)],
        ),
      ),
      { run: 1 },
    );
    const text = typed((await write(jobOf([sheet]))).pdf);
    for (const name of names) expect(text).toContain(`boat: ${name}`);
  });

  it.runIf(has("pdftoppm"))("draws a name our font lacks as it stands on the piece", async () => {
    const sheetWith = (outlines: string) => {
      // A block of 20 x 10 mm, named in a script outside Latin, Greek and Cyrillic.
      const box = { x: 10_000, y: 20_000, width: 20_000, height: 10_000 };
      const name = { ...words("x", 0, 0, 12), text: "سولفيغ", outlines, box };
      const serves = [{ order: "HL-2041", first: 1, last: 4 }];
      return jobOf([sheetOf([placed(1, wall(), 0, [30, 420], serves, [name])], { run: 4 })], {
        orders: [{ order: "HL-2041", lines: [{ kit: "harbour-lantern", quantity: 1 }] }],
      });
    };
    const block = await write(sheetWith("M 10000 20000 L 30000 20000 L 30000 30000 L 10000 30000 Z"));
    expect(block.rows.find(([kind]) => kind === "piece")?.[4]).toBe("boat: سولفيغ");
    const none = await write(sheetWith(""));
    // The picking list is the third page; what the two dockets differ by is the block.
    const [a, b] = [poppler(block.pdf, 300, 3), poppler(none.pdf, 300, 3)];
    const xs: number[] = [];
    const ys: number[] = [];
    for (let i = 0; i < a.width * a.height; i++)
      if (Math.abs((a.data[i * 3] ?? 0) - (b.data[i * 3] ?? 0)) > 100) {
        xs.push(i % a.width);
        ys.push(Math.floor(i / a.width));
      }
    const [wide, high] = [xs, ys].map((v) => Math.max(...v) - Math.min(...v) + 1) as [number, number];
    expect(xs.length / (wide * high)).toBeGreaterThan(0.9);
    expect(wide / high).toBeCloseTo(2, 0);
    // Nine tenths of a line of 8 points.
    expect((high * 25.4) / 300).toBeGreaterThan(2.5);
  });
});

describe("cautions (16 CFR 1501 for the cylinder; the rest is common practice)", () => {
  const all = (sheets: Parameters<typeof cautionsFor>[0]) => cautionsFor(sheets).map((c) => c.rule);

  it("warn of blades always, of food where paper is printed, of small parts where there are some", () => {
    expect(all([sheetOf([placed(1, wall(), 0, [30, 420], [])])])).toEqual(["caution.cutter", "caution.food"]);
    expect(all([boardSheet()])).toEqual(["caution.cutter", "caution.small-parts"]);
  });

  it("take a part for small when it goes into the cylinder of 31.7 x 57.1 mm, at any turn", () => {
    const long = (width: number, height: number, tilt: number) => {
      const [cos, sin] = [Math.cos((tilt * Math.PI) / 180), Math.sin((tilt * Math.PI) / 180)];
      const ring = [
        [0, 0],
        [width, 0],
        [width, height],
        [0, height],
      ].map(([x = 0, y = 0]): [number, number] => [x * cos - y * sin, x * sin + y * cos]);
      const parts = [{ outer: drawn(...ring), openings: [] }];
      return sheetOf([placed(1, { ...insert(), piece: piece("part", [60, 60], parts, []) }, 0, [0, 0], [])]);
    };
    expect(all([long(31, 56.5, 0)])).toContain("caution.small-parts");
    expect(all([long(31, 56.5, 35)])).toContain("caution.small-parts");
    expect(all([long(32, 56, 0)])).not.toContain("caution.small-parts");
    expect(all([long(31, 58, 0)])).not.toContain("caution.small-parts");
  });

  it.runIf(has("pdftotext"))("stand in the docket, and promise nothing", () => {
    const text = typed(made.pdf).replace(/\s+/g, " ");
    for (const { text: caution } of cautionsFor(job.sheets.map((s) => s.sheet)))
      expect(text).toContain(caution.slice(0, 60));
    expect(text).not.toMatch(/\bsafe\b|complian/i);
  });
});
