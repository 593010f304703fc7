import { fromPoints, mm, toMm } from "@kitforme/geometry";
import { type Operation, OPERATIONS } from "@kitforme/kit";
import type { Sheet } from "@kitforme/sheet";
import { cautionsFor } from "../cautions.ts";
import { decimal } from "../decimal.ts";
import { type JobSheet, pageOf, printWords } from "../job.ts";
import { LEGEND } from "../legend.ts";
import { columns } from "./columns.ts";
import { ranges, servesWords } from "./contents.ts";
import { drawLegendLine, usedOf } from "./draw-legend.ts";
import { drawMiniature } from "./miniature.ts";
import { proofWords, worstProof } from "./proof-words.ts";
import { type Cell, LEFT, type Paper, WIDE } from "./paper.ts";

const SHEETS = columns(["sheet", 8], ["run", 8], ["code", 34], ["print", 36], ["cut files", 80]);
const PIECES = columns(["sheet:no.", 10], ["kit", 24], ["piece", 22], ["words", 30], ["orders and numbers", 50]);

/** Characters of cautions that stand beside the picture of a sheet: about 30 lines. */
const BESIDE = 1600;

/**
 * Sheets that one page can stand for: they share a cut geometry, and the same numbers lie at the same places. In the order of the
 * first of each.
 */
export const sectionsOf = (sheets: readonly JobSheet[]): JobSheet[][] => {
  const sections: JobSheet[][] = [];
  for (const one of sheets) {
    const alike = sections.find(([first]) => first && first.sheet.cutAs === one.sheet.cutAs && lieAlike(first, one));
    if (alike) alike.push(one);
    else sections.push([one]);
  }
  return sections;
};

const lieAlike = ({ sheet: a }: JobSheet, { sheet: b }: JobSheet): boolean =>
  a.stock.stock === b.stock.stock &&
  (a.back === undefined) === (b.back === undefined) &&
  a.placed.length === b.placed.length &&
  a.placed.every(({ number, matrix }, i) => {
    const other = b.placed[i];
    return number === other?.number && matrix.every((value, k) => value === other.matrix[k]);
  });

/**
 * One section of the docket: the sheet in small with its numbers and what it is, its legend and cautions, what each sheet of that
 * geometry is called, and every piece of each.
 */
export const sheetSection = (paper: Paper, section: readonly JobSheet[]): void => {
  const [first] = section as readonly [JobSheet, ...JobSheet[]];
  const { sheet } = first;
  const numbers = ranges(section.map((s) => s.sheet.sheet));
  paper.begin(`${section.length === 1 ? "Sheet" : "Sheets"} ${numbers} of ${sheet.of}`);
  const top = paper.y;
  const { width, height } = drawMiniature(paper, sheet, LEFT);
  const beside = LEFT + width + mm(6);
  for (const fact of factsOf(first, section)) paper.paragraph(fact, 9, beside, LEFT + WIDE - beside);
  paper.y += mm(1);
  const proof = worstProof(section.flatMap((s) => s.proof ?? []));
  for (const words of proof ? proofWords(proof) : []) paper.paragraph(words, 7, beside, LEFT + WIDE - beside);
  paper.y += mm(1);
  for (const operation of usedOf(sheet.lines.map((line) => line.operation))) {
    paper.y += fromPoints(13);
    drawLegendLine(paper, operation, penWords(sheet, operation), { x: beside, y: paper.y, size: 8 });
  }
  paper.y += mm(3);
  const cautions = cautionsFor(section.map((s) => s.sheet)).map(({ title, text }) => `${title}: ${text}`);
  // Beside the picture, unless they would run down the page.
  const short = cautions.join("").length <= BESIDE;
  if (short) for (const caution of cautions) paper.paragraph(caution, 7, beside, LEFT + WIDE - beside);
  paper.y = Math.max(paper.y, top + height) + mm(5);
  if (section.length > 1)
    paper.table(
      SHEETS,
      section.map(({ sheet: own, files }) => [
        String(own.sheet),
        String(own.run),
        own.code,
        printWords(files) ?? "not printed",
        cutNames(files),
      ]),
      7.5,
    );
  for (const { sheet: own } of section)
    paper.table(
      PIECES,
      own.placed.map((placed): Cell[] => [
        `${own.sheet}:${placed.number}`,
        placed.prepared.piece.kit,
        placed.prepared.piece.piece,
        { words: placed.texts },
        servesWords(placed, own.run),
      ]),
      7.5,
    );
  if (!short) for (const caution of cautions) paper.paragraph(caution, 7);
};

const cutNames = (files: JobSheet["files"]): string =>
  Object.values(files.cut)
    .map(({ name }) => name)
    .join(", ");

/** What holds of every sheet of the section; what is of one alone stands here only where it is alone. */
const factsOf = ({ sheet, files }: JobSheet, section: readonly JobSheet[]): string[] => {
  const alone = section.length === 1;
  const press = sheet.stock.press?.name;
  return [
    sheet.stock.title,
    `${decimal(toMm(sheet.width), 1)} x ${decimal(toMm(sheet.height), 1)} mm`,
    ...(alone ? [`Run ${sheet.run}`, `Code ${sheet.code}`] : [`${section.length} sheets of one cut geometry`]),
    press ? `Press ${press}${alone ? `: ${printWords(files) ?? ""}` : ""}` : "Not printed",
    ...(sheet.back
      ? [
          `Both sides: print page ${alone ? pageOf(files) : "1"}, turn the sheet over its ${sheet.stock.press?.turn ?? "long"} edge, print page ${alone ? pageOf(files) + 1 : "2"}; against the light the marks lie inside their frames. Cut with the marks on top.`,
        ]
      : []),
    `Cutter ${sheet.stock.cutter.name}${alone ? `: ${cutNames(files)}` : ""}`,
    ...(section.some((s) => s.sheet.sheet === sheet.cutAs) ? [] : [`Cuts like sheet ${sheet.cutAs}`]),
    `Under the blade ${decimal(sheet.cutLength / 1000, 2)} m`,
    `Yield ${decimal(sheet.yield * 100, 1)} %`,
  ];
};

/** `crease, pen 2`; where no tool creases, what does it instead. */
const penWords = (sheet: Sheet, operation: Operation): string => {
  const { words } = LEGEND[operation];
  const tools = new Set(sheet.paths.filter((p) => p.operation === operation && p.placed > 0).map((p) => p.tool));
  const pens = OPERATIONS.filter((tool) => tools.has(tool)).flatMap((tool) => {
    const pen = sheet.stock.cutter.tools[tool]?.pen;
    if (pen === undefined) return [];
    return [tool === operation ? `pen ${pen}` : `as interrupted cuts, pen ${pen}`];
  });
  return [words, ...pens].join(", ");
};
