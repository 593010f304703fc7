import { jobFile, jobJson, writeCut } from "@kitforme/files";
import type { CutFormat } from "@kitforme/kit";
import { fitJob } from "@kitforme/run";
import type { Sheet } from "@kitforme/sheet";
import { beforeAll, describe, expect, it } from "vitest";
import { jobOf } from "../support/jobs.ts";
import { apart, readDxf, readHpgl, readSvg } from "../support/read-cut.ts";
import { boardSheet, harbourSheet, stock } from "../support/sheets.ts";

/** A finished job of one sheet, as its folder holds it, with these cut formats. */
const folderOf = async (sheet: Sheet, formats: readonly CutFormat[]): Promise<Map<string, Uint8Array>> => {
  const files = new Map<string, Uint8Array>();
  const cut: Record<string, ReturnType<typeof jobFile>> = {};
  for (const format of formats) {
    const name = `sheet-001.cut.${format}`;
    const bytes = await writeCut(sheet, format);
    files.set(name, bytes);
    cut[format] = jobFile(name, bytes);
  }
  const proof = jobFile("sheet-001.proof.png", new Uint8Array());
  const job = jobOf([], { sheets: [{ sheet, files: { print: null, cut, proof } }] });
  return files.set("job.json", new TextEncoder().encode(JSON.stringify(jobJson(job))));
};
const reader = (files: ReadonlyMap<string, Uint8Array>) => (name: string) => Promise.resolve(files.get(name));

const TURN = (1.3 * Math.PI) / 180;
/** How the sheet came out of the press: turned by 1.3 degrees, 0.3 % larger, moved. */
const print = ([x, y]: readonly [number, number]): [number, number] => [
  1.003 * (Math.cos(TURN) * x - Math.sin(TURN) * y) + 3.7,
  1.003 * (Math.sin(TURN) * x + Math.cos(TURN) * y) - 2.1,
];
const readingOf = (sheet: Sheet): string =>
  JSON.stringify({ seen: sheet.marks.map(({ at }) => print([at.x / 1000, at.y / 1000])).reverse() });

let harbour: Sheet;
beforeAll(async () => {
  harbour = await harbourSheet();
});

const wanted = (sheet: Sheet): [number, number][][] =>
  sheet.lines.map(({ points }) => points.map((p) => print([p.x / 1000, p.y / 1000])));

describe("cut files fitted to a printed sheet", () => {
  it.each<[CutFormat[], number]>([
    [["svg", "dxf", "hpgl", "pdf"], 0.02],
    [["dxf", "hpgl"], 0.02],
    // HP-GL alone holds its own units of 0.025 mm, twice rounded.
    [["hpgl"], 0.05],
  ])("follow the print, from %j", async (formats, within) => {
    const { value, findings } = await fitJob(reader(await folderOf(harbour, formats)), 1, readingOf(harbour));
    expect(findings).toEqual([]);
    expect(value?.files.map(({ name }) => name)).toEqual(
      ["svg", "dxf", "hpgl", "pdf"].filter((f) => formats.includes(f as CutFormat)).map((f) => `sheet-001.cut.${f}`),
    );
    expect(value?.scale).toBeCloseTo(1.003, 5);
    expect(value?.turn).toBeCloseTo(1.3, 3);
    for (const { name, bytes } of value?.files ?? []) {
      if (name.endsWith("pdf")) continue;
      const lines = name.endsWith("svg")
        ? readSvg(bytes).lines.filter((l) => l.layer !== "registration")
        : name.endsWith("dxf")
          ? readDxf(bytes).lines.filter((l) => l.layer !== "REGISTRATION")
          : readHpgl(bytes);
      expect(lines).toHaveLength(harbour.lines.length);
      for (const [i, line] of wanted(harbour).entries())
        expect(apart(line, lines[i]?.points ?? [], harbour.lines[i]?.closed ?? false)).toBeLessThan(
          // An HP-GL file rounds to its units once more.
          name.endsWith("hpgl") ? Math.max(within, 0.025) : within,
        );
    }
  });

  it("come out in the machine's own axes, as they went in", async () => {
    const { cutter, ...rest } = stock();
    const axes = { origin: "upperRight", swap: true, offset: [5000, -3000] } as const;
    const sheet = await harbourSheet({ stock: { ...rest, cutter: { ...cutter, axes } } });
    const { value } = await fitJob(reader(await folderOf(sheet, ["dxf"])), 1, readingOf(sheet));
    const lines = readDxf(value?.files[0]?.bytes ?? new Uint8Array()).lines.filter((l) => l.layer !== "REGISTRATION");
    for (const [i, line] of wanted(sheet).entries()) {
      const framed = line.map(([x, y]): [number, number] => [450 - y + 5, 320 - x - 3]);
      expect(apart(framed, lines[i]?.points ?? [], sheet.lines[i]?.closed ?? false)).toBeLessThan(0.02);
    }
  });

  it("are refused, each by its reason, when folder, file or reading is not what it should be", async () => {
    const files = await folderOf(harbour, ["svg"]);
    const rules = async (read: Map<string, Uint8Array>, sheet: number, reading: string): Promise<string[]> =>
      (await fitJob(reader(read), sheet, reading)).findings.map((f) => f.rule);
    const reading = readingOf(harbour);
    expect(await rules(new Map(), 1, reading)).toEqual(["job-unfinished"]);
    expect(await rules(files, 2, reading)).toEqual(["job-no-sheet"]);
    expect(await rules(files, 1, '{ "seen": "no" }')).toEqual(["field-wrong"]);
    expect(await rules(files, 1, "{")).toEqual(["json-broken"]);
    const edited = new Map(files).set("sheet-001.cut.svg", new TextEncoder().encode("<svg/>"));
    expect(await rules(edited, 1, reading)).toEqual(["cut-changed"]);
    expect(await rules(await folderOf(harbour, []), 1, reading)).toEqual(["cut-unreadable"]);
    expect(await rules(await folderOf(boardSheet({ sheet: 1, marks: [] }), ["svg"]), 1, reading)).toEqual([
      "fit-no-marks",
    ]);
  });
});
