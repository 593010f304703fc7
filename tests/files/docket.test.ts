import { cautionsFor, type Job, jobJson, type SheetProof, writeDocket } from "@kitforme/files";
import { matrixOf, mm } from "@kitforme/geometry";
import type { Placed, Sheet } from "@kitforme/sheet";
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

/** `sheet:number` to whose numbers lie there, as job.json has it: `kit piece, ORDER no. 1–3`. */
const placesIn = (job: Job): string[] => {
  const { sheets } = JSON.parse(JSON.stringify(jobJson(job))) as {
    sheets: {
      sheet: number;
      placements: {
        number: number;
        kit: string;
        piece: string;
        serves: { order: string; first: number; last: number }[];
      }[];
    }[];
  };
  return sheets.flatMap(({ sheet, placements }) =>
    placements.flatMap(({ number, kit, piece, serves }) =>
      serves.map(
        ({ order, first, last }) =>
          `${sheet}:${number} ${kit} ${piece} ${order} ${first === last ? first : `${first}–${last}`}`,
      ),
    ),
  );
};

/** The same, read back from rows of words: place, kit, piece, and whatever they say of orders and numbers. */
const placesRead = (rows: readonly (readonly string[])[]): string[] =>
  rows.flatMap(([place = "", kit = "", piece = "", ...rest]) =>
    [...rest.join(" ").matchAll(/(HL-\d+) no\. (\d+(?:–\d+)?)/g)].map(
      ([, order, numbers]) => `${place} ${kit} ${piece} ${order} ${numbers}`,
    ),
  );

/** Rows of the docket's PDF that begin with a place. */
const rowsOf = (text: string): string[][] =>
  text.split("\n").flatMap((line) => (/^\s*\d+:\d+\s/.test(line) ? [line.trim().split(/\s{2,}/)] : []));

describe.runIf(has("pdftotext"))("every piece of every order", () => {
  it("lies in both papers at the same sheet:number as in job.json (oracle: pdftotext)", () => {
    const wanted = placesIn(job);
    expect(wanted.length).toBeGreaterThanOrEqual(7);
    expect(placesRead(rowsOf(typed(made.pdf)))).toEqual(wanted);
    const rows = made.rows.filter(([kind]) => kind === "piece").map(([, ...row]) => row);
    expect(placesRead(rows)).toEqual(wanted);
  });

  it("is gathered from piles that hold so many of it, in the PDF as in the text", () => {
    const text = typed(made.pdf);
    const picks = text.slice(text.indexOf("Order HL-2041"));
    const counted = new Map<string, number>();
    let times = 1;
    for (const line of picks.split("\n")) {
      const kits = /^\s*(\d+)(?:–(\d+) \((\d+)\))?\s{2,}/.exec(line);
      if (kits) times = Number(kits[3] ?? 1);
      for (const [, count, pile = ""] of line.matchAll(/(?:(\d+) × )?(\d+:\d+)/g))
        if (!/Overs|over$/.test(line)) counted.set(pile, (counted.get(pile) ?? 0) + times * Number(count ?? 1));
      if (line.includes("Overs")) break;
    }
    const wanted = new Map(
      job.sheets.flatMap(({ sheet }) =>
        sheet.placed.map(({ number, serves }): [string, number] => [
          `${sheet.sheet}:${number}`,
          serves.reduce((sum, s) => sum + s.last - s.first + 1, 0),
        ]),
      ),
    );
    expect(Object.fromEntries(counted)).toEqual(Object.fromEntries(wanted));
  });
});

describe.runIf(has("pdftotext"))("sheets of one cut geometry", () => {
  const one = (sheet: number, boat: string, first: number, cutAs = 1): Sheet => ({
    ...sheetOf(
      [placed(1, wall(), 0, [30, 420], [{ order: "HL-2041", first, last: first + 3 }], [words(boat, 15, 42, 12)])],
      { run: 4 + sheet, sheet, of: 4 },
    ),
    code: `2f81c0de-${sheet}-4`,
    cutAs,
  });
  const board = { ...boardSheet(), sheet: 4, of: 4, cutAs: 4 };
  const sheets = [one(1, "Solveig", 1), one(2, "Aino", 5), one(3, "Ingrid", 9)];

  it("share a page, on which all that differs still stands", async () => {
    const { pdf } = await write(jobOf([...sheets, board]));
    const pages = typed(pdf).split("\f");
    const shared = pages.filter((page) => page.includes("Sheets 1–3 of 4"));
    expect(shared).toHaveLength(1);
    for (const { sheet, run, code } of sheets) {
      const name = `sheet-00${sheet}`;
      expect(shared[0]).toMatch(
        new RegExp(
          `\\s${sheet}\\s+${run}\\s+${code}\\s+${name}\\.print\\.pdf\\s+${name}\\.cut\\.svg, ${name}\\.cut\\.hpgl`,
        ),
      );
    }
    for (const boat of ["Solveig", "Aino", "Ingrid"]) expect(shared[0]).toContain(`boat: ${boat}`);
    expect(placesRead(rowsOf(shared[0] as string))).toEqual(placesIn(jobOf(sheets)));
    expect(pages.filter((page) => page.includes("Sheet 4 of 4"))).toHaveLength(1);
  });

  it("do not where a number lies elsewhere: then the page says whose cut it is", async () => {
    const moved = one(2, "Aino", 5);
    const [first] = moved.placed;
    const other = {
      ...moved,
      placed: [{ ...(first as Placed), matrix: matrixOf({ degrees: 0, e: mm(90), f: mm(300) }) }],
    };
    const pages = typed((await write(jobOf([sheets[0] as Sheet, other]))).pdf).split("\f");
    expect(pages.filter((page) => page.includes("Sheet 2 of 4"))[0]).toContain("Cuts like sheet 1");
  });

  it("have the legend and the cautions of what is on them, and no other", async () => {
    const pages = typed((await write(jobOf([...sheets, board]))).pdf).split("\f");
    const [card, unprinted] = ["Sheets 1–3 of 4", "Sheet 4 of 4"].map((head) => pages.find((p) => p.includes(head)));
    for (const line of ["cut, pen 1", "crease, pen 2", "perforation, pen 3", "Food:"]) {
      expect(card).toContain(line);
      if (line !== "cut, pen 1") expect(unprinted).not.toContain(line);
    }
    expect(card).not.toContain("kiss cut");
    expect(card).not.toContain("Small parts:");
    for (const line of ["cut, pen 1", "Small parts:", "At the cutter:"]) expect(unprinted).toContain(line);
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

describe("the docket's words on the proof", () => {
  const full: SheetProof = {
    level: "full",
    worst: { paper: 2170, text: 3440, print: 41, cut: 12, mark: 8, code: 23 },
    within: { shift: 2170, turn: 3990, stretch: 4210 },
    unmeasured: 1,
  };
  const words = async (proofs: readonly (SheetProof | undefined)[], cutAs = 1) => {
    const [first] = (await harbourJob()).sheets;
    if (!first) throw new Error("a job without a sheet");
    const sheets = proofs.map((proof, i) => ({
      ...first,
      sheet: { ...first.sheet, sheet: i + 1, cutAs: cutAs === 1 ? 1 : i + 1 },
      ...(proof ? { proof } : {}),
    }));
    return write(jobOf([], { sheets }));
  };

  it.runIf(has("pdftotext"))("say every worst distance, rounded to the side that holds", async () => {
    const { pdf, rows } = await words([full]);
    const said = [
      "Paper would show beyond 2.1 mm between print and cut.",
      "A text would be touched beyond 3.4 mm.",
      "Neither shows while the print is shifted 2.1 mm, turned 3.9 mm or stretched 4.2 mm at the sheet's corner, one at a time.",
      "Tried (full): cut files follow the drawing within 0.02 mm, marks are printed within 0.01 mm of their places, the code within 0.03 mm and pieces within 0.05 mm.",
      "The place of 1 print cannot be measured: too pale, too soft or bare at the edge. The marks hold for it.",
    ];
    expect(rows.find(([kind]) => kind === "proof")).toEqual(["proof", "1", ...said]);
    const page = says("pdftotext", (f) => ["-raw", f, "-"], pdf).replace(/\s+/g, " ");
    for (const sentence of said) expect(page).toContain(sentence);
  });

  it.runIf(has("pdftotext"))("say the worst of several sheets on the page that stands for them", async () => {
    const other: SheetProof = {
      level: "full",
      worst: { paper: 2900, text: 1280, print: 77, cut: 30, mark: 4 },
      within: { shift: 1280, turn: 5000 },
    };
    const { pdf, rows } = await words([full, other]);
    expect(rows.filter(([kind]) => kind === "proof").map(([, sheet]) => sheet)).toEqual(["1", "2"]);
    const page = says("pdftotext", (f) => ["-raw", f, "-"], pdf).replace(/\s+/g, " ");
    expect(page).toContain("Paper would show beyond 2.1 mm");
    expect(page).toContain("A text would be touched beyond 1.2 mm");
    expect(page).toContain("shifted 1.2 mm, turned 3.9 mm or stretched 4.2 mm");
    expect(page).toContain(
      "within 0.03 mm, marks are printed within 0.01 mm of their places, the code within 0.03 mm and pieces within 0.08 mm",
    );
  });

  it.runIf(has("pdftotext"))("say what was tried of stock without print, and nothing where nothing was", async () => {
    const { rows } = await words([{ level: "marks", worst: { cut: 12 } }, undefined]);
    expect(rows.filter(([kind]) => kind === "proof")).toEqual([
      ["proof", "1", "Tried (marks): cut files follow the drawing within 0.02 mm."],
    ]);
  });
});
