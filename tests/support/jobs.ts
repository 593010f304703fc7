// Whole jobs built by hand from the sheets beside.
import { type Job, type JobSheet, jobFile } from "@kitforme/files";
import type { Sheet } from "@kitforme/sheet";
import { boardSheet, harbourSheet } from "./sheets.ts";

const nothing = new Uint8Array();

export const filesOf = (sheet: Sheet): JobSheet["files"] => {
  const name = `sheet-${String(sheet.sheet).padStart(3, "0")}`;
  return {
    print: sheet.stock.press ? jobFile(`${name}.print.pdf`, nothing) : null,
    cut: { svg: jobFile(`${name}.cut.svg`, nothing), hpgl: jobFile(`${name}.cut.hpgl`, nothing) },
    proof: jobFile(`${name}.proof.png`, nothing),
  };
};

export const jobOf = (sheets: readonly Sheet[], more: Partial<Job> = {}): Job => ({
  job: "2f81c0de",
  sheets: sheets.map((sheet) => ({ sheet, files: filesOf(sheet) })),
  orders: [
    { order: "HL-2041", due: "2026-12-04", lines: [{ kit: "harbour-lantern", quantity: 5 }] },
    { order: "HL-2042", lines: [{ kit: "harbour-lantern", quantity: 5 }] },
  ],
  titles: { "harbour-lantern": "Harbour lantern" },
  findings: [],
  plan: { cost: 58, bound: { sheets: 17.2, cost: 57.2 } },
  versions: { kitforme: "0.1.0" },
  ...more,
});

export const harbourJob = async (more: Partial<Job> = {}): Promise<Job> =>
  jobOf([await harbourSheet(), boardSheet()], more);
