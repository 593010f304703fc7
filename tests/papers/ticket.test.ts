import { execFileSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import { type Job, jobJson } from "@kitforme/files";
import { writeTicket } from "@kitforme/papers";
import { beforeAll, describe, expect, it } from "vitest";
import { jobOf } from "../support/jobs.ts";
import { inFolder } from "../support/oracle.ts";
import { oracle } from "../support/promised.ts";
import { boardSheet, harbourSheet, placed, sheetOf, wall } from "../support/sheets.ts";

/** What Python's own XML reader finds in the ticket, as JSON: every element with its name (no namespace), attributes, children. */
const READ = `
import json, sys, xml.etree.ElementTree as tree
def read(e):
    space, name = e.tag[1:].split("}")
    assert space == "http://www.CIP4.org/JDFSchema_2_0", space
    return {"name": name, "attributes": e.attrib, "text": (e.text or "").strip(), "children": [read(c) for c in e]}
print(json.dumps(read(tree.parse(sys.argv[1]).getroot())))
`;

interface Read {
  readonly name: string;
  readonly attributes: Readonly<Record<string, string>>;
  readonly text: string;
  readonly children: readonly Read[];
}
const read = (bytes: Uint8Array): Read =>
  inFolder((at) => {
    writeFileSync(at("job.xjdf"), bytes);
    return JSON.parse(execFileSync("python3", ["-c", READ, at("job.xjdf")], { encoding: "utf8" })) as Read;
  });

/** All elements of a name, anywhere below. */
const all = (from: Read, name: string): Read[] =>
  from.children.flatMap((c) => [...(c.name === name ? [c] : []), ...all(c, name)]);
const numbers = (text: string | undefined): number[] => (text ?? "").split(" ").map(Number);
const toMm = (points: number): number => (points * 25.4) / 72;
/** Resources of a set, by the sheet that they are for. */
const bySheet = (ticket: Read, set: string): Map<string, Read> =>
  new Map(
    all(ticket, "ResourceSet")
      .filter((s) => s.attributes["Name"] === set)
      .flatMap((s) => s.children)
      .flatMap((r) =>
        r.children
          .filter((c) => c.name === "Part")
          .map((p): [string, Read] => [
            p.attributes["SheetName"] ?? "",
            r.children.find((c) => c.name === set) as Read,
          ]),
      ),
  );

interface Manifest {
  readonly job: string;
  readonly sheets: readonly {
    readonly sheet: number;
    readonly size: readonly [number, number];
    readonly run: number;
    readonly files: { readonly print?: string; readonly cut: Readonly<Record<string, string>> };
    readonly marks: readonly { readonly at: readonly [number, number] }[];
    readonly placements: readonly {
      readonly number: number;
      readonly kit: string;
      readonly piece: string;
      readonly matrix: readonly number[];
      readonly serves: readonly { readonly order: string; readonly first: number; readonly last: number }[];
      readonly overs: number;
    }[];
  }[];
}
const manifestOf = (job: Job): Manifest => JSON.parse(JSON.stringify(jobJson(job))) as Manifest;

let job: Job;
beforeAll(async () => {
  job = jobOf([await harbourSheet(), boardSheet({ cutAs: 2 })]);
});

describe.runIf(oracle("xmllint"))("the job ticket against the subset of its schema", () => {
  const fault = (bytes: Uint8Array): string =>
    inFolder((at) => {
      writeFileSync(at("job.xjdf"), bytes);
      try {
        execFileSync("xmllint", ["--noout", "--schema", "tests/papers/xjdf-subset.xsd", at("job.xjdf")], {
          stdio: "pipe",
        });
        return "";
      } catch (error) {
        return String((error as { stderr: Buffer }).stderr);
      }
    });

  it("is valid: printed, unprinted, with two sheets of one cut, with names that XML takes for itself", async () => {
    expect(fault(writeTicket(job))).toBe("");
    expect(fault(writeTicket(jobOf([boardSheet({ cutAs: 2 })])))).toBe("");
    expect(fault(writeTicket(jobOf([await harbourSheet(), await harbourSheet({ sheet: 2, cutAs: 1 })])))).toBe("");
    expect(fault(writeTicket({ ...job, job: '<&"\u0001\n' }))).toBe("");
  });

  // The schema itself can say no: a ticket that lost something is refused.
  it.each([
    [/ JobID="2f81c0de"/, "", "JobID"],
    ["ShapeCutting", "ShapeGuessing", "ShapeGuessing"],
    [/ GangElementID="PART-1" /, ' GangElementID="PART-99" ', "PART-1"],
    [/PaperRef="MEDIA-1"/, 'PaperRef="MEDIA-77"', "MEDIA-77"],
    [/CTM="[^ ]+ /, 'CTM="', "CTM"],
  ])("refuses a ticket that lost something: %s", (what, instead, named) => {
    const text = new TextDecoder().decode(writeTicket(job));
    expect(fault(new TextEncoder().encode(text.replace(what, instead)))).toContain(named);
  });
});

describe.runIf(oracle("python3"))("the job ticket as another reader finds it", () => {
  it("has every placement of job.json at its sheet:number, with its matrix", () => {
    const ticket = read(writeTicket(job));
    const layouts = bySheet(ticket, "Layout");
    for (const { sheet, size, placements, marks, run, files } of manifestOf(job).sheets) {
      const name = `sheet-00${sheet}`;
      const layout = layouts.get(name) as Read;
      expect(numbers(layout.attributes["SurfaceContentsBox"]).slice(2).map(toMm).map(Math.round)).toEqual(size);
      const objects = all(layout, "PlacedObject").filter((o) => o.children[0]?.name === "ContentObject");
      const positions = all(layout, "Position");
      expect(objects.length).toBe(placements.length);
      expect(positions.map((p) => p.attributes["BlockName"])).toEqual(placements.map((p) => `${sheet}:${p.number}`));
      for (const [i, { number, matrix, kit, piece }] of placements.entries()) {
        const object = objects.find((o) => o.attributes["Ord"] === String(number - 1)) as Read;
        const [a = 0, b = 0, c = 0, d = 0, e = 0, f = 0] = numbers(object.attributes["CTM"]);
        const [, high = 0] = numbers(object.attributes["TrimSize"]);
        // From its drawing, y up from the lower edge, back to y down from the upper one.
        const back = [a, b, -c, -d, toMm(e + c * high), toMm(f + d * high)];
        back.forEach((value, k) => expect(value).toBeCloseTo(matrix[k] as number, k < 4 ? 5 : 3));
        // Its place leads to its shape: signature, die, station, shape.
        const die = bySheet(ticket, "DieLayout").get(name) as Read;
        const station = all(die, "Station").find((s) => s.attributes["StationName"] === String(number)) as Read;
        const shape = all(ticket, "Resource").find((r) => r.attributes["ID"] === station.attributes["ShapeDefRef"]);
        expect(shape?.attributes["DescriptiveName"]).toBe(`${kit}/${piece}`);
        // And the cut shape at that place fills the box that the layout gives it.
        const box = numbers(positions[i]?.attributes["AbsoluteBox"]);
        const drawn = all(shape as Read, "Shape").flatMap((s) => corners(s.attributes["CutPath"] as string));
        const laid = drawn.map(([x, y]) => [a * x + c * y + e, b * x + d * y + f]);
        for (const k of [0, 1]) {
          expect(Math.min(...laid.map((p) => p[k] as number))).toBeCloseTo(box[k] as number, 1);
          expect(Math.max(...laid.map((p) => p[k] as number))).toBeCloseTo(box[k + 2] as number, 1);
        }
      }
      const centres = all(layout, "RegisterMark").map((m) => numbers(m.attributes["Center"]).map(toMm).map(Math.round));
      expect(centres).toEqual(marks.map(({ at }) => at.map(Math.round)));
      const amount = all(ticket, "PartAmount").find((p) => p.children[0]?.attributes["SheetName"] === name);
      expect(amount?.attributes["Amount"]).toBe(String(run));
      const print = bySheet(ticket, "RunList").get(name)?.children[0]?.attributes["URL"];
      expect(print).toBe(files.print);
      const cut = all(bySheet(ticket, "DieLayout").get(name) as Read, "FileSpec").map((f) => f.attributes["URL"]);
      expect(cut).toEqual(Object.values(files.cut));
    }
  });

  it("has every order's amounts of job.json, and when it is due", () => {
    const ticket = read(writeTicket(job));
    const { sheets } = manifestOf(job);
    const sources = bySheet(ticket, "NodeInfo");
    const wanted = new Map<string, number>();
    let pieces = 0;
    for (const { sheet, run, placements } of sheets) {
      const expected = placements.flatMap(({ number, serves }) =>
        serves.map(({ order, first, last }) => [`${sheet}:${number}`, order, String(last - first + 1)]),
      );
      expect(
        (sources.get(`sheet-00${sheet}`)?.children ?? []).map(({ attributes: a }) => [
          a["BinderySignatureID"],
          a["JobID"],
          a["Copies"],
        ]),
      ).toEqual(expected);
      for (const { serves } of placements)
        for (const { order, first, last } of serves) wanted.set(order, (wanted.get(order) ?? 0) + last - first + 1);
      pieces += run * placements.length;
    }
    const elements = all(ticket, "GangElement").map((g) => g.attributes);
    for (const [order, count] of wanted) {
      const own = elements.filter((a) => a["JobID"] === order);
      expect(own.reduce((sum, a) => sum + Number(a["OrderQuantity"]), 0)).toBe(count);
      const due = job.orders.find((o) => o.order === order)?.due;
      for (const a of own) expect(a["DueDate"]?.slice(0, 10)).toBe(due);
    }
    // Overs included, nothing that is made is left out.
    expect(elements.reduce((sum, a) => sum + Number(a["PlacedQuantity"]), 0)).toBe(pieces);
    expect(all(ticket, "Product").map(({ attributes: a }) => [a["ExternalID"], a["Amount"]])).toEqual(
      job.orders.map(({ order }) => [`${order}/harbour-lantern`, "5"]),
    );
  });

  it("names the steps in working order, and every crease and perforation at its place", () => {
    const ticket = read(writeTicket(job));
    expect(ticket.attributes["Types"]).toBe("DigitalPrinting Creasing Perforating ShapeCutting");
    expect(read(writeTicket(jobOf([boardSheet({ cutAs: 2 })]))).attributes["Types"]).toBe("ShapeCutting");
    const sheet = job.sheets[0]?.sheet;
    for (const [operation, set] of [
      ["creasing", "CreasingParams"],
      ["perforating", "PerforatingParams"],
    ] as const) {
      const found = bySheet(ticket, set)
        .get("sheet-001")
        ?.children.map(({ attributes: a }) => {
          const [x = 0, y = 0] = numbers(a["StartPosition"]);
          const [u = 0, v = 0] = numbers(a["WorkingPath"]);
          return [x, y, x + u, y + v].map((value) => Math.round(toMm(value) * 100) / 100);
        });
      const drawn = (sheet?.lines ?? [])
        .filter((l) => l.operation === operation)
        .map(({ points }) => points.flatMap(({ x, y }) => [x / 1000, y / 1000]).map((v) => Math.round(v * 100) / 100));
      expect(found).toHaveLength(drawn.length);
      found?.forEach((line, i) => line.forEach((value, k) => expect(value).toBeCloseTo(drawn[i]?.[k] as number, 1)));
    }
  });

  it("says which sheets have lines that are cut partly through, for they are in the cut files alone", () => {
    expect(all(read(writeTicket(job)), "Comment").map((c) => c.text)).toEqual([
      "Lines that are cut partly through stand in the cut files alone: sheet-001.",
    ]);
  });

  it("says of a sheet with a back that it is worked from both sides", async () => {
    const back = { matrix: [-1, 0, 0, 1, 320_000, 0], slug: "back", inks: [] } as const;
    const ticket = read(writeTicket(jobOf([await harbourSheet({ back }), boardSheet({ cutAs: 2 })])));
    expect(all(ticket, "Layout").map((l) => l.attributes["WorkStyle"])).toEqual(["WorkAndBack", "Simplex"]);
    expect(all(ticket, "RunList").map((l) => l.attributes["NPage"])).toEqual(["2"]);
    const edges = (xml: Read): string[] =>
      all(xml, "Comment").flatMap((c) => (c.text.startsWith("Turned") ? [c.text] : []));
    expect(edges(ticket)).toEqual(["Turned over the long edge for the back: sheet-001."]);
    const tumbled = { ...back, matrix: [1, 0, 0, -1, 0, 450_000] } as const;
    expect(edges(read(writeTicket(jobOf([await harbourSheet({ back: tumbled })]))))).toEqual([
      "Turned over the short edge for the back: sheet-001.",
    ]);
  });

  it("of a remake lists no products, and says whose pieces it makes anew", () => {
    const remakes = { job: "2f81c0de", spoiled: ["1:2", "1:2"] };
    const ticket = read(writeTicket({ ...job, job: "7a", remakes }));
    expect(all(ticket, "Product")).toEqual([]);
    expect(ticket.children[0]?.text).toBe("Spoiled pieces of job 2f81c0de, made anew: 1:2, 1:2.");
  });

  it("keeps names as they are written, whatever XML takes for itself", () => {
    const odd = 'A&B <"1"> Ålesund סולבייג 🙂';
    const sheet = sheetOf([placed(1, wall(), 0, [30, 420], [{ order: odd, first: 1, last: 13 }])]);
    const ticket = read(
      writeTicket(jobOf([sheet], { orders: [{ order: odd, lines: [{ kit: "harbour-lantern", quantity: 4 }] }] })),
    );
    expect(all(ticket, "GangSource").map((s) => s.attributes["JobID"])).toEqual([odd]);
    expect(read(writeTicket({ ...job, job: "a\u0001b\tc" })).attributes["JobID"]).toBe("a\u{FFFD}b\tc");
  });
});

describe("the job ticket", () => {
  it("is the same bytes twice", async () => {
    expect(writeTicket(jobOf([await harbourSheet(), boardSheet({ cutAs: 2 })]))).toEqual(writeTicket(job));
  });
});

/** Corners of a path in PDF's operators. */
const corners = (path: string): [number, number][] =>
  [...path.matchAll(/(-?[\d.]+) (-?[\d.]+) [ml]/g)].map(([, x, y]) => [Number(x), Number(y)]);
