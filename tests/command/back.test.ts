// A kit with a back by the command: two pages, its proof, and its reverse as a picture.
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { PDFDocument } from "pdf-lib";
import sharp from "sharp";
import { expect, it, onTestFinished } from "vitest";
import { kitforme } from "../support/command.ts";
import { smallShop } from "../support/small-shop.ts";

it("make prints the back on a second page, and preview --back shows it turned over", async () => {
  const at = smallShop(mkdtempSync(join(tmpdir(), "kitforme-back-")));
  onTestFinished(() => rmSync(at.root, { recursive: true, force: true }));
  const change = (file: string, by: (value: never) => void): void => {
    const value = JSON.parse(readFileSync(file, "utf8")) as never;
    by(value);
    writeFileSync(file, JSON.stringify(value));
  };
  change(at.shop, ({ presses }: { presses: { digital: { sides?: number } } }) => (presses.digital.sides = 2));
  const behind = { file: "behind.svg", box: [-3, -3, 66, 46] };
  change(join(at.kits, "tag/kit.json"), ({ pieces }: { pieces: { back?: object }[] }) => {
    (pieces[0] as { back?: object }).back = { artwork: behind };
  });
  // Red on the left of the front, which is the right of who looks at the back.
  writeFileSync(
    join(at.kits, "tag/behind.svg"),
    '<svg xmlns="http://www.w3.org/2000/svg" width="66mm" height="46mm" viewBox="0 0 66 46"><rect width="66" height="46" fill="#f0e0a0"/><rect width="33" height="46" fill="#c02020"/></svg>',
  );
  const shop = ["--shop", at.shop, "--kits", at.kits];
  const made = await kitforme(["make", ...shop, "--effort", "quick", "--out", at.out, at.order("B-1", ["Solveig"])]);
  expect([made.err, made.code]).toEqual([expect.anything(), 0]);
  expect(readdirSync(at.out)).toEqual(expect.arrayContaining(["sheet-002.back.proof.png", "sheet-001.cut.svg"]));
  const sheets = (
    JSON.parse(readFileSync(join(at.out, "job.json"), "utf8")) as { sheets: { sides: number; files: object }[] }
  ).sheets;
  const printed = sheets.findIndex(({ sides }) => sides === 2);
  expect(sheets.map(({ sides }) => sides).sort((a, b) => a - b)).toEqual([0, 2]);
  const print = readFileSync(join(at.out, `sheet-00${printed + 1}.print.pdf`));
  expect((await PDFDocument.load(print)).getPageCount()).toBe(2);

  const png = join(at.root, "tag.png");
  const shown = await kitforme(["preview", ...shop, "--kit", "tag", "--piece", "tag", "--back", "--out", png]);
  expect(shown).toMatchObject({ code: 0 });
  const { data, info } = await sharp(png).raw().toBuffer({ resolveWithObject: true });
  const green = (share: number): number =>
    data[(Math.round(info.height / 2) * info.width + Math.round(info.width * share)) * info.channels + 1] ?? -1;
  expect(green(0.25)).toBeGreaterThan(150);
  expect(green(0.75)).toBeLessThan(100);
});
