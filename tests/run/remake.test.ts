import { inMemory, Openers, remake, run } from "@kitforme/run";
import { beforeAll, describe, expect, it } from "vitest";
import { strFromU8, unzipSync } from "fflate";
import { page } from "../hostile/pdf.ts";
import { planRemake } from "../../packages/run/src/plan-remake.ts";
import { numbersFrom } from "../support/random.ts";
import { card, named, pieceForm, SHOP, shelf } from "../support/shelf.ts";

interface Placement {
  readonly number: number;
  readonly matrix: readonly number[];
  readonly kit: string;
  readonly piece: string;
  readonly texts: Record<string, string>;
  readonly serves: readonly { order: string; first: number; last: number }[];
}
interface JobJson {
  readonly job: string;
  readonly remakes?: { job: string; spoiled: string[] };
  readonly sheets: readonly { sheet: number; run: number; placements: readonly Placement[] }[];
}

const first = inMemory();
let job: JobJson;
const read = (name: string) => Promise.resolve(first.files.get(name));
const jsonOf = (files: ReadonlyMap<string, Uint8Array>): JobJson =>
  JSON.parse(new TextDecoder().decode(files.get("job.json"))) as JobJson;

/** Choices in the second test, each read, laid, imposed and proven, but not written: 10, or 1,000, or a stretch of these as 250-500. */
const [FIRST, LAST] = ((asked = "0-10"): [number, number] => {
  const stretch = /^(\d+)-(\d+)$/.exec(asked === "long" ? "0-1000" : asked);
  if (!stretch) throw new Error(`KITFORME_REMAKE is ${asked}: neither long nor a stretch as 250-500`);
  return [Number(stretch[1]), Number(stretch[2])];
})(process.env["KITFORME_REMAKE"]);

/** One number of one piece, with its words. */
const numbered = ({ kit, piece, texts }: Pick<Placement, "kit" | "piece" | "texts">, order: string, number: number) =>
  `${kit}/${piece} ${JSON.stringify(texts)} ${order} ${number}`;

/** Sheets as job.json has them. */
const placesIn = (sheets: Awaited<ReturnType<typeof planRemake>>["sheets"] = []) =>
  sheets.map(({ sheet, run: times, placed }) => ({
    sheet,
    run: times,
    placements: placed.map(({ number, matrix: [a, b, c, d, e, f], serves, wording }) => ({
      number,
      matrix: [...[a, b, c, d].map((n) => Number(n.toFixed(6)) + 0), e / 1000, f / 1000],
      serves,
      texts: wording,
    })),
  }));

/** Every number a job makes: piece, words, order, number. */
const madeOf = ({ sheets }: JobJson): string[] =>
  sheets
    .flatMap(({ placements }) =>
      placements.flatMap((p) =>
        p.serves.flatMap(({ order, first: from, last }) =>
          Array.from({ length: last - from + 1 }, (_, i) => numbered(p, order, from + i)),
        ),
      ),
    )
    .sort();

/** The remake that was made twice, and of what. */
let twice: ReturnType<typeof inMemory> | undefined;
let spoiled: readonly string[] = [];

const remade = async (spoiled: readonly string[]) => {
  const out = inMemory();
  const outcome = await remake(read, spoiled, () => out, { effort: "quick" });
  return { ...outcome, out };
};

beforeAll(async () => {
  const slot = { slot: "boat", box: [8, 8, 44, 14], size: 12, leastSize: 6 };
  const kits = shelf({
    box: {
      "kit.json": {
        kit: "box",
        assembly: "steps.pdf",
        joins: [{ tab: "J1", piece: "wall", at: [3, 20], into: { piece: "tag", at: [30, 15] } }],
        pieces: [
          pieceForm("wall", { perKit: 3 }),
          pieceForm("tag", { slots: [slot] }),
          pieceForm("liner", { stock: "board", artwork: null }),
        ],
      },
      "steps.pdf": page("0.2 g 10 10 100 50 re f"),
      "wall.svg": card(60, 40),
      "tag.svg": card(60, 30),
      "liner.svg": card(80, 50),
    },
  });
  const input = {
    shop: named("shop.json", SHOP),
    orders: [
      named("a.json", {
        order: "HL-1",
        lines: [{ kit: "box", quantity: 3, texts: [{ boat: "Solveig" }, { boat: "Aino" }, { boat: "Solveig" }] }],
      }),
      named("b.json", { order: "HL-2", to: ["Havnegata 3"], lines: [{ kit: "box", quantity: 5 }] }),
    ],
  };
  const { findings } = await run(input, { kits, out: () => first }, { effort: "quick" });
  expect(findings.filter((f) => f.level === "error")).toEqual([]);
  job = jsonOf(first.files);
}, 300_000);

describe("a remake of spoiled pieces", () => {
  /** Spoiled places by chance, one for each piece, and what must be made for them: piece, words, order, number. */
  const chosen = (random: () => number) => {
    const spoiled: string[] = [];
    const wanted: string[] = [];
    // From one piece alone to nearly all.
    const share = random() ** 2;
    const all = job.sheets.flatMap((s) => s.placements.filter((p) => p.serves.length > 0).map((p) => ({ s, p })));
    const surely = Math.floor(random() * all.length);
    for (const [i, { s, p }] of all.entries()) {
      if (i !== surely && random() >= share) continue;
      const own = p.serves.flatMap(({ order, first: from, last }) =>
        Array.from({ length: last - from + 1 }, (_, k) => numbered(p, order, from + k)),
      );
      const count = 1 + Math.floor(random() * own.length);
      for (let k = 0; k < count; k++) spoiled.push(`${s.sheet}:${p.number}`);
      wanted.push(...own.slice(0, count));
    }
    return { spoiled, wanted: wanted.sort() };
  };

  it("makes exactly these, with the same words and numbers, and names the first job", async () => {
    const random = numbersFrom(14);
    for (let round = 0; round < 2; round++) {
      const { spoiled, wanted } = chosen(random);
      const { out, findings } = await remade(spoiled);
      expect(findings.filter((f) => f.level === "error")).toEqual([]);
      const made = jsonOf(out.files);
      expect(madeOf(made)).toEqual(wanted);
      expect(made.remakes?.job).toBe(job.job);
      expect(made.job).not.toBe(job.job);
      // What the many choices below are held against is what is written.
      const planned = await planRemake(read, spoiled, { effort: "quick", threads: 1 });
      expect(planned.job).toBe(made.job);
      expect(placesIn(planned.sheets)).toEqual(
        made.sheets.map(({ sheet, run: times, placements }) => ({
          sheet,
          run: times,
          placements: placements.map(({ number, matrix, serves, texts }) => ({ number, matrix, serves, texts })),
        })),
      );
    }
  }, 600_000);

  // KITFORME_REMAKE=long (`npm run test:remake`): 1,000 choices.
  it(`lays and proves exactly these for ${LAST - FIRST} random choices`, async () => {
    const jobs = new Map<string, string>();
    const openers = new Openers();
    try {
      for (let round = FIRST; round < LAST; round++) {
        const { spoiled, wanted } = chosen(numbersFrom(1000 + round));
        const {
          job: name = "",
          sheets,
          findings,
        } = await planRemake(read, spoiled, { effort: "quick", threads: 1, openers });
        expect(findings.filter((f) => f.level === "error")).toEqual([]);
        const made = (sheets ?? []).flatMap(({ placed, run: times }) =>
          placed.flatMap((p) => {
            const numbers = p.serves.flatMap(({ order, first: from, last }) =>
              Array.from({ length: last - from + 1 }, (_, k) => {
                const { kit, piece } = p.prepared.piece;
                return numbered({ kit, piece, texts: p.wording as Record<string, string> }, order, from + k);
              }),
            );
            expect(numbers.length).toBeLessThanOrEqual(times);
            return numbers;
          }),
        );
        expect(made.sort(), `round ${round}: ${spoiled.join(",")}`).toEqual(wanted);
        // Jobs are named by what is spoiled: the same choice has the same name, another has another.
        const key = spoiled.join(",");
        expect(jobs.get(name) ?? key).toBe(key);
        jobs.set(name, key);
      }
    } finally {
      await openers.close();
    }
  }, 3_600_000);

  it("is the same bytes twice, in whatever sequence the places are named", async () => {
    const places = job.sheets
      .flatMap((s) => s.placements.filter((p) => p.serves.length > 0).map((p) => `${s.sheet}:${p.number}`))
      .slice(0, 2);
    spoiled = places;
    const [a, b] = [await remade(places), await remade([...places].reverse())];
    expect([...a.out.files.keys()].sort()).toEqual([...b.out.files.keys()].sort());
    for (const [name, bytes] of a.out.files) expect(Buffer.compare(bytes, b.out.files.get(name) as Uint8Array)).toBe(0);
    twice = a.out;
  }, 300_000);

  it("leaves assembly sheets to the first job (in the remake made above), whose input keeps what they are made of", async () => {
    const papers = (files: ReadonlyMap<string, Uint8Array>) =>
      (JSON.parse(strFromU8(files.get("job.json") as Uint8Array)) as { files: { name: string }[] }).files.map(
        (f) => f.name,
      );
    expect(papers(first.files)).toContain("job.assembly.pdf");
    // Our own sheet, and the designer's page of 60 x 40 mm.
    expect(Buffer.from(first.files.get("job.assembly.pdf") ?? []).toString("latin1")).toContain("170.08 113.39");
    const input = unzipSync(first.files.get("job.input.zip") as Uint8Array);
    expect(Object.keys(input)).toContain("kits/box/steps.pdf");
    expect(strFromU8(input["kits/box/kit.json"] as Uint8Array)).toContain('"J1"');
    const out = twice as NonNullable<typeof twice>;
    expect(papers(out.files)).not.toContain("job.assembly.pdf");
    expect(out.files.has("job.assembly.pdf")).toBe(false);
    const docket = strFromU8(out.files.get("job.docket.txt") as Uint8Array);
    expect(docket).toContain(`remakes\t${job.job}\t${spoiled.join(", ")}\tassembly sheets: those of job ${job.job}`);
  });

  it.each([
    [["9:9"], "spoiled-unknown", "9:9"],
    [["1:1", "1:999"], "spoiled-unknown", "1:999"],
    [["one"], "spoiled-unreadable", "one"],
    [["1:1x3"], "spoiled-unreadable", "1:1x3"],
    [[], "nothing-to-remake", ""],
    [Array.from({ length: 99_999 }, () => "1:1"), "spoiled-too-many", "1:1"],
  ])("refuses by name what was never in that job: %#", async (places, rule, named) => {
    const { job: made, findings } = await remade(places);
    expect(made).toBeUndefined();
    expect(findings.map((f) => f.rule)).toEqual([rule]);
    expect(findings[0]?.message).toContain(named);
  });

  it("refuses a folder that is not as the job wrote it", async () => {
    const gone = await remake(
      (name) => Promise.resolve(name === "job.json" ? first.files.get(name) : undefined),
      ["1:1"],
      () => inMemory(),
    );
    expect(gone.findings.map((f) => f.rule)).toEqual(["remake-no-input"]);
    const none = await remake(
      () => Promise.resolve(undefined),
      ["1:1"],
      () => inMemory(),
    );
    expect(none.findings.map((f) => f.rule)).toEqual(["remake-unfinished"]);
  });
});
