// One print PDF of all sheets, from the shop's word for it to the folder and its papers.
import { createHash } from "node:crypto";
import { mkdtemp, readdir, readFile, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { inMemory, jobFolder } from "@kitforme/run";
import { PDFDocument } from "pdf-lib";
import { describe, expect, it } from "vitest";
import { run } from "../support/openers.ts";
import { has, says } from "../support/oracle.ts";
import { card, named, pieceForm, SHOP, shelf } from "../support/shelf.ts";

const shop = (files: string) =>
  named("shop.json", { ...SHOP, presses: { digital: { ...SHOP.presses.digital, files } } });
const NAME = { slot: "name", box: [5, 40, 80, 20], size: 24, leastSize: 8, colour: "#ffffff", safe: 2 };
const kits = () =>
  shelf({
    tag: {
      "kit.json": {
        kit: "tag",
        pieces: [pieceForm("tag", { slots: [NAME] }), pieceForm("insert", { stock: "board", artwork: null })],
      },
      "tag.svg": card(90, 120),
      "insert.svg": card(60, 40),
    },
  });
const texts = ["Aino", "Berit", "Cecil", "Dagny", "Elna", "Frida", "Greta", "Halvor"].map((name) => ({ name }));
const orders = [named("o.json", { order: "W-1", lines: [{ kit: "tag", quantity: 8, texts }] })];
const options = { effort: "quick", threads: 1 } as const;

interface Manifest {
  readonly sheets: readonly { readonly files: { print?: string; whole?: { print: string; page: number } } }[];
  readonly files: readonly { readonly name: string; readonly bytes: number; readonly sha256: string }[];
}

describe("a press with one print PDF of all sheets", { timeout: 120_000 }, () => {
  it("has it alone in the folder, with every sheet's page in manifest, docket and ticket", async () => {
    const folder = await mkdtemp(join(tmpdir(), "kitforme-whole-"));
    try {
      const { job, findings } = await run(
        { shop: shop("whole"), orders },
        { kits: kits(), out: () => jobFolder(folder) },
        options,
      );
      expect(findings.filter(({ level }) => level === "error")).toEqual([]);
      const names = await readdir(folder);
      expect(names.filter((name) => name.endsWith(".part"))).toEqual([]);
      expect(names.filter((name) => name.endsWith(".print.pdf"))).toEqual(["job.print.pdf"]);
      const manifest = JSON.parse(await readFile(join(folder, "job.json"), "utf8")) as Manifest;
      const printed = manifest.sheets.filter(({ files }) => files.print);
      expect(printed.length).toBeGreaterThan(1);
      expect(printed.length).toBeLessThan(manifest.sheets.length);
      expect(printed.map(({ files }) => files.whole)).toEqual(
        printed.map((_, i) => ({ print: "job.print.pdf", page: i + 1 })),
      );
      const entries = manifest.files.filter(({ name }) => name === "job.print.pdf");
      const bytes = await readFile(join(folder, "job.print.pdf"));
      const sha256 = createHash("sha256").update(bytes).digest("hex");
      expect(entries).toEqual([{ name: "job.print.pdf", bytes: bytes.length, sha256 }]);
      expect((await PDFDocument.load(bytes)).getPageCount()).toBe(printed.length);
      if (has("pdftotext"))
        expect(
          says("pdftotext", (file) => ["-layout", file, "-"], await readFile(join(folder, "job.docket.pdf"))),
        ).toContain("job.print.pdf, page 2");
      const ticket = await readFile(join(folder, "job.xjdf"), "utf8");
      expect(ticket.match(/<RunList NPage="1" Pages="1">\s*<FileSpec URL="job.print.pdf"/)).not.toBeNull();
      expect(job?.sheets.find(({ files }) => files.whole)?.files.print?.name).toBe("job.print.pdf");
    } finally {
      await rm(folder, { recursive: true });
    }
  });

  it("has both where both are asked for; a sheet's own file is what it is without", async () => {
    const out = inMemory();
    await run({ shop: shop("both"), orders }, { kits: kits(), out: () => out }, options);
    const { sheets, files } = JSON.parse(new TextDecoder().decode(out.files.get("job.json"))) as Manifest;
    const own = sheets.flatMap(({ files: { print } }) => print ?? []);
    expect(own[0]).toBe("sheet-002.print.pdf");
    expect(files.map(({ name }) => name)).toEqual(expect.arrayContaining([...own, "job.print.pdf"]));
    const whole = out.files.get("job.print.pdf") ?? new Uint8Array();
    expect((await PDFDocument.load(whole)).getPageCount()).toBe(own.length);
    const one = out.files.get("sheet-002.print.pdf") ?? new Uint8Array();
    expect(whole.length).toBeLessThan(one.length * own.length);
  });
});
