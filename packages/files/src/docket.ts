import { mm } from "@kitforme/geometry";
import { type Finding, furtherPlacesInWords, placeInWords } from "@kitforme/kit";
import { cautionsFor } from "./cautions.ts";
import { columns } from "./docket/columns.ts";
import { type Copies, oversOf, type PickingList, pickingLists, pickWords, range, ranges } from "./docket/contents.ts";
import { type Cell, Paper } from "./docket/paper.ts";
import { sectionsOf, sheetSection } from "./docket/sheet-section.ts";
import { docketText } from "./docket/text.ts";
import { type Job, printWords } from "./job.ts";

/** A file by the name it bears in the job folder. */
export interface NamedBytes {
  readonly name: string;
  readonly bytes: Uint8Array;
}

/**
 * The papers that travel with a job: `job.docket.pdf` for the hand (summary and cautions, every cut geometry with
 * its sheets and their pieces numbered, then how to gather each order) and `job.docket.txt`, the same tab-separated, for searching and for the ear.
 */
export const writeDocket = async (job: Job): Promise<NamedBytes[]> => {
  const paper = new Paper(`${job.job}   docket`);
  const lists = pickingLists(job);
  summary(paper, job, lists);
  for (const section of sectionsOf(job.sheets)) sheetSection(paper, section);
  for (const [i, list] of lists.entries()) orderList(paper, list, i === 0);
  oversPage(paper, job);
  const pdf = await paper.bytes(`Docket of job ${job.job}`);
  return [
    { name: "job.docket.pdf", bytes: pdf },
    { name: "job.docket.txt", bytes: new TextEncoder().encode(docketText(job, lists)) },
  ];
};

const SHEETS = columns(["sheet", 8], ["stock", 40], ["run", 8], ["pieces", 10], ["print", 32], ["cut like", 12]);
const ORDERS = columns(["order", 22], ["due", 14], ["kits", 46], ["on sheets", 34]);
const PICKING = columns(["", 5], ["kits", 14], ["words", 28], ["each kit takes", 90]);
const OVERS = columns(["sheet:no.", 14], ["kit", 40], ["piece", 40], ["over", 10]);

const summary = (
  paper: Paper,
  { job, orders, sheets, findings, remakes }: Job,
  lists: readonly PickingList[],
): void => {
  paper.begin(`Job ${job}`);
  const runs = sheets.reduce((sum, { sheet }) => sum + sheet.run, 0);
  paper.paragraph(
    `${counted(orders.length, "order")} on ${counted(sheets.length, "layout")}, ${counted(runs, "sheet")} in all.`,
  );
  paper.paragraph(
    "A place is written sheet:number, so 2:14 is number 14 on sheet 2. Numbers of a piece count over its order from 1.",
  );
  if (remakes)
    paper.paragraph(
      `Makes anew of job ${remakes.job}: ${remakes.spoiled.join(", ")}. Assembly sheets are that job's; none are made again.`,
    );
  paper.y += mm(2);
  paper.table(
    SHEETS,
    sheets.map(({ sheet, files }) => [
      String(sheet.sheet),
      sheet.stock.title,
      String(sheet.run),
      String(sheet.placed.length),
      printWords(files) ?? "not printed",
      sheet.cutAs === sheet.sheet ? "" : `sheet ${sheet.cutAs}`,
    ]),
  );
  paper.table(
    ORDERS,
    lists.map(({ order, due, kits }) => [
      order,
      due ?? "",
      kits.map(({ title, copies }) => `${copies.at(-1)?.last ?? 0} × ${title}`).join(", "),
      ranges(kits.flatMap((k) => k.copies.flatMap((c) => c.picks.flatMap((p) => p.from.map((f) => f.sheet))))),
    ]),
  );
  paper.heading("Cautions", 11);
  for (const { title, text } of cautionsFor(sheets.map((s) => s.sheet))) paper.paragraph(`${title}: ${text}`, 8);
  for (const [title, own] of [
    ["Look here first", findings.filter((f) => f.level !== "note")],
    ["Notes", findings.filter((f) => f.level === "note")],
  ] as const) {
    if (own.length > 0) paper.heading(title, 11);
    for (const finding of own) paper.paragraph(findingWords(finding), 8);
  }
};

const counted = (n: number, noun: string): string => `${n} ${noun}${n === 1 ? "" : "s"}`;

/** A finding in one paragraph, with its place before it and what to do behind it. */
const findingWords = (finding: Finding): string => {
  const { level, where, message, hint } = finding;
  const place = placeInWords(where);
  const further = furtherPlacesInWords(finding);
  return `${level}${place ? ` (${place})` : ""}: ${message}${further ? ` (${further})` : ""} What to do: ${hint}`;
};

/** Orders follow one another on the page: a hundred small ones would be a hundred sheets of paper. */
const orderList = (paper: Paper, { order, due, kits }: PickingList, first: boolean): void => {
  const title = `Order ${order}${due ? `, due ${due}` : ""}`;
  if (first) paper.begin(title);
  else paper.follow(title);
  for (const { title, copies } of kits) {
    const count = copies.at(-1)?.last ?? 0;
    paper.heading(`${title}: ${count} ${count === 1 ? "kit" : "kits"}`, 11);
    paper.table(PICKING, copies.map(pickingRow));
  }
};

const pickingRow = ({ first, last, words, picks }: Copies): Cell[] => [
  { tick: true },
  first === last ? String(first) : `${range(first, last)} (${last - first + 1})`,
  { words },
  picks.map(pickWords).join(";  "),
];

const oversPage = (paper: Paper, job: Job): void => {
  const overs = oversOf(job);
  if (overs.length === 0) return;
  paper.begin("Overs");
  paper.paragraph("Made beyond the orders: for spoilage first, then for stock.");
  paper.table(
    OVERS,
    overs.map(({ sheet, place, kit, piece, count }) => [`${sheet}:${place}`, kit, piece, String(count)]),
  );
};
