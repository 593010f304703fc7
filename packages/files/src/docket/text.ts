import { furtherPlacesInWords, placeInWords, wordsOf } from "@kitforme/kit";
import { cautionsFor } from "../cautions.ts";
import type { Job } from "../job.ts";
import { proofWords } from "./proof-words.ts";
import { oversOf, type PickingList, pickWords, range, servesWords } from "./contents.ts";

/** The docket as lines of tab-separated words, each line beginning with what it is. */
export const docketText = (job: Job, lists: readonly PickingList[]): string => {
  const rows: (readonly (string | number)[])[] = [["job", job.job]];
  if (job.remakes) {
    const { job: first, spoiled } = job.remakes;
    rows.push(["remakes", first, spoiled.join(", "), `assembly sheets: those of job ${first}`]);
  }
  for (const { title, text } of cautionsFor(job.sheets.map((s) => s.sheet))) rows.push(["caution", title, text]);
  for (const finding of job.findings) {
    const { level, rule, where, message, hint } = finding;
    rows.push(["finding", level, rule, placeInWords(where), message, furtherPlacesInWords(finding), hint]);
  }
  rows.push(["", "sheet", "stock", "run", "code", "cut like"]);
  for (const { sheet, proof } of job.sheets) {
    rows.push(["sheet", sheet.sheet, sheet.stock.title, sheet.run, sheet.code, sheet.cutAs]);
    const edge = `turn over the ${sheet.stock.press?.turn ?? "long"} edge`;
    if (sheet.back)
      rows.push(["both sides", sheet.sheet, "print page 1", edge, "print page 2", edge, "cut with the marks on top"]);
    if (proof) rows.push(["proof", sheet.sheet, ...proofWords(proof)]);
  }
  rows.push(["", "sheet:no.", "kit", "piece", "words", "orders and numbers"]);
  for (const { sheet } of job.sheets)
    for (const placed of sheet.placed) {
      const { kit, piece } = placed.prepared.piece;
      const words = Object.entries(placed.wording).map(([slot, text]) => `${slot}: ${wordsOf(text)}`);
      rows.push([
        "piece",
        `${sheet.sheet}:${placed.number}`,
        kit,
        piece,
        words.join(", "),
        servesWords(placed, sheet.run),
      ]);
    }
  rows.push(["", "order", "due", "kit", "kits", "words", "each kit takes"]);
  for (const { order, due, kits } of lists)
    for (const { kit, copies } of kits)
      for (const { first, last, words, picks } of copies) {
        const takes = picks.map(pickWords);
        const said = words.map((w) => `${w.slot}: ${w.text}`);
        rows.push(["pick", order, due ?? "", kit, range(first, last), said.join(", "), ...takes]);
      }
  for (const { sheet, place, kit, piece, count } of oversOf(job))
    rows.push(["over", `${sheet}:${place}`, kit, piece, count]);
  // Tabs and line ends within a cell would break the columns.
  return rows.map((row) => `${row.map((cell) => String(cell).replace(/[\t\r\n]+/g, " ")).join("\t")}\n`).join("");
};
