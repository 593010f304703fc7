// A paper of pages as it is written: every way to put words, tables and pictures on it shares its cursor.
import { deflateSync } from "node:zlib";
import { fromPoints, mm } from "@kitforme/geometry";
import type { SetText } from "@kitforme/prepress";
import { PDFContext, PDFDocument, PDFName, PDFObjectCopier, type PDFRef } from "../pdf-lib.ts";
import { decimal } from "../decimal.ts";
import { pathOperators, pt } from "../pdf/content.ts";
import { identify, serialise } from "../pdf/identify.ts";
import { flateStream, rawStream } from "../pdf/image.ts";
import type { Shape } from "./piece-shape.ts";
import { isPlain, Lettering, type Weight } from "./lettering.ts";

/** ISO 216. */
const A4 = { width: mm(210), height: mm(297) };
const MARGIN = mm(14);
/** Baseline to baseline, as a share of the type size. */
const LEADING = 1.32;

/** Where the text of an A4 paper begins, micrometres from its left edge. */
export const LEFT = MARGIN;
/** Width of the text of an A4 paper, micrometres. */
export const WIDE = A4.width - 2 * MARGIN;

/** Words of a text slot: typed where our font has the letters, else drawn as they are printed on the piece. */
export type Words = readonly SetText[];
/** A cell of a table; `tick` is a box for the pencil. */
export type Cell = string | { readonly words: Words } | { readonly tick: true };

export interface Column {
  readonly title: string;
  /** Micrometres. */
  readonly width: number;
}

/** A4 pages filled from the top: a cursor and a few marks on paper. Micrometres from the top-left, sizes in points. */
export class Paper {
  y = MARGIN;
  private section = "";
  private page: string[] = [];
  /** Pages before this one: their operators deflated, since those of 500 pages weigh ten times as much; or a page of another document. */
  private readonly before: { readonly operators?: Uint8Array; readonly copied?: Uint8Array }[] = [];
  private pageOpen = true;
  private readonly shapes = new Map<string, { readonly name: string; readonly shape: Shape }>();
  private readonly lettering = new Lettering();
  private readonly footer: string;
  private readonly foot: number;

  /** @param foot room left free at the foot of the page; more than the margin where the page must also go onto shorter paper */
  constructor(footer: string, foot: number = MARGIN) {
    this.footer = footer;
    this.foot = foot;
  }

  /** Starts a section on a page of its own; its name is repeated wherever it runs on. */
  begin(title: string, width = WIDE): void {
    if (this.section !== "") this.turn();
    this.section = title;
    this.heading(title, 15, width);
  }

  /** Starts a short section below the last one where there is room for its head and some rows. */
  follow(title: string): void {
    if (this.y + mm(60) > A4.height - this.foot) {
      this.begin(title);
      return;
    }
    this.section = title;
    this.y += mm(5);
    this.heading(title);
  }

  /** A heading within the section. */
  heading(title: string, size = 15, width = WIDE): void {
    const step = fromPoints(size * LEADING);
    const lines = this.wrap(title, size, width, "semibold");
    this.need(Math.min(lines.length, 4) * step + mm(14));
    this.y += fromPoints(size) + (this.y > MARGIN ? mm(2.5) : 0);
    lines.forEach((line, i) => {
      if (i > 0) {
        this.need(step);
        this.y += step;
      }
      this.put(line, LEFT, size, "semibold");
    });
    this.y += mm(3);
  }

  /** Goes to a new page unless so much is left on this one. */
  need(height: number): void {
    if (this.y + height <= A4.height - this.foot - mm(5)) return;
    this.turn();
    this.y += fromPoints(8);
    const [name = "", ...more] = this.wrap(this.section, 8, WIDE - mm(20), "semibold");
    this.put(`${name}${more.length > 0 ? "…" : ""}, continued`, LEFT, 8, "semibold");
    this.y += mm(3);
  }

  /** Text in lines no wider than `width`; the cursor ends under it. */
  paragraph(text: string, size = 9, x = LEFT, width = WIDE, weight: Weight = "regular"): void {
    for (const line of this.wrap(text, size, width, weight)) {
      this.need(fromPoints(size * LEADING));
      this.y += fromPoints(size * LEADING);
      this.put(line, x, size, weight);
    }
    this.y += mm(1);
  }

  /** A table with its head, which is repeated on every page it reaches. */
  table(columns: readonly Column[], rows: readonly (readonly Cell[])[], size = 8): void {
    const head = (): void => {
      this.row(
        columns,
        columns.map((c) => c.title),
        size - 1,
        "semibold",
      );
      this.rule(this.y - mm(0.4), 0.35);
    };
    this.need(mm(14));
    head();
    for (const cells of rows) {
      const page = this.before.length;
      this.need(this.tall(columns, cells, size));
      if (this.before.length > page) head();
      this.row(columns, cells, size, "regular");
      this.rule(this.y - mm(0.4), 0.85);
    }
    this.y += mm(2);
  }

  /** Raw operators in points of the page, y up from its lower-left corner. */
  draw(operators: string): void {
    this.page.push(operators);
  }

  /** Operators that show a shape under this matrix (operands of `cm`, points). It stands in the file once, however often it is shown. */
  stamp(shape: Shape, matrix: string): string {
    const stamped = this.shapes.get(shape.operators) ?? { name: `P${this.shapes.size}`, shape };
    this.shapes.set(shape.operators, stamped);
    return `q ${matrix} cm /${stamped.name} Do Q`;
  }

  /** A place on the page as PDF has it: micrometres, y up. */
  up(y: number): number {
    return A4.height - y;
  }

  /** A line of text with its baseline `below` the page's top, centred on x. */
  centred(text: string, x: number, below: number, size: number, weight: Weight = "semibold"): void {
    const width = this.lettering.width(text, size, weight);
    this.draw(`0.15 g ${this.lettering.show(text, size, x - width / 2, this.up(below), weight)}`);
  }

  /** Lays in a page that was drawn elsewhere: a PDF of one page, at its own size. The next section begins on a new page. */
  append(page: Uint8Array): void {
    this.close();
    this.before.push({ copied: page });
  }

  async bytes(title: string): Promise<Uint8Array> {
    this.close();
    const count = this.before.length;
    const feet = this.before.map(({ operators }, i) => {
      if (!operators) return "";
      const words = `${this.footer}   page ${i + 1} of ${count}`;
      return `0.4 g ${this.lettering.show(words, 7, LEFT, this.foot - mm(4))}`;
    });
    const context = PDFContext.create();
    const fonts = await this.lettering.fonts(context);
    const shapes: Record<string, PDFRef> = {};
    for (const { name, shape } of this.shapes.values()) shapes[name] = await formOf(context, shape);
    const resources = context.register(context.obj({ Font: fonts, XObject: shapes }));
    const tree = context.nextRef();
    const box = [0, 0, Number(pt(A4.width)), Number(pt(A4.height))];
    const kids: PDFRef[] = [];
    for (const [i, { operators, copied: other }] of this.before.entries()) {
      if (other) {
        const document = await PDFDocument.load(other, { updateMetadata: false });
        const copied = PDFObjectCopier.for(document.context, context).copy(document.getPage(0).node);
        copied.set(PDFName.of("Parent"), tree);
        kids.push(context.register(copied));
        continue;
      }
      const contents = [
        rawStream(context, operators as Uint8Array, { Filter: PDFName.of("FlateDecode") }),
        rawStream(context, Buffer.from(feet[i] ?? "", "latin1"), {}),
      ];
      kids.push(
        context.register(
          context.obj({
            Type: "Page",
            Parent: tree,
            MediaBox: box,
            Resources: resources,
            Contents: contents.map((one) => context.register(one)),
          }),
        ),
      );
    }
    context.assign(tree, context.obj({ Type: "Pages", Kids: kids, Count: kids.length }));
    const { info, metadata } = identify(context, title, false);
    context.trailerInfo.Info = info;
    context.trailerInfo.Root = context.register(context.obj({ Type: "Catalog", Pages: tree, Metadata: metadata }));
    return serialise(context);
  }

  /** How far down the page may be filled. */
  get bottom(): number {
    return A4.height - this.foot - mm(5);
  }

  /** A line of text with its baseline at y (from the top); the cursor stays. */
  line(text: string, x: number, y: number, size: number, weight: Weight = "regular"): void {
    this.draw(`0.15 g ${this.lettering.show(text, size, x, this.up(y), weight)}`);
  }

  /** Words of a text slot as they are set on the piece, or typed where our font has them; the cursor ends under them. */
  setWords(words: Words, x: number, size: number, width: number): void {
    const step = fromPoints(size * LEADING);
    for (const one of words) {
      this.need(step);
      this.words(one, x, size, width, step);
    }
  }

  /** A line as it was set elsewhere, smaller where it would be wider; the cursor ends under it. */
  setLine(line: SetText, x: number, size: number, width: number): void {
    const step = fromPoints(size * LEADING);
    this.need(step);
    this.y += step;
    this.outlined(line, x, width, Math.min(1, size / line.size, step / Math.max(1, line.box.height)), step);
    this.y += mm(1);
  }

  /** A box for the pencil. */
  box(x: number, y: number, size: number): void {
    this.tick(x, y, size);
  }

  private turn(): void {
    this.close();
    this.pageOpen = true;
    this.y = MARGIN;
  }

  /** Puts the page away, if one is being written. */
  private close(): void {
    if (!this.pageOpen) return;
    this.before.push({ operators: deflateSync(Buffer.from(this.page.join("\n"), "latin1"), { level: 6 }) });
    this.page = [];
    this.pageOpen = false;
  }

  private put(text: string, x: number, size: number, weight: Weight): void {
    this.draw(`0.15 g ${this.lettering.show(text, size, x, this.up(this.y), weight)}`);
  }

  private rule(y: number, grey: number): void {
    this.draw(`${grey} G 0.4 w ${pt(LEFT)} ${pt(this.up(y))} m ${pt(LEFT + WIDE)} ${pt(this.up(y))} l S`);
  }

  private linesOf(cell: Cell, size: number, width: number, weight: Weight): string[] {
    if (typeof cell === "string") return this.wrap(cell, size, width, weight);
    if ("tick" in cell) return [""];
    return cell.words.flatMap((w) =>
      isPlain(w.text) ? this.wrap(`${w.slot}: ${w.text}`, size, width, weight) : [w.slot],
    );
  }

  private tall(columns: readonly Column[], cells: readonly Cell[], size: number): number {
    const lines = cells.map((c, i) => this.linesOf(c, size, (columns[i]?.width ?? 0) - mm(2), "regular").length);
    return Math.max(1, ...lines) * fromPoints(size * LEADING) + mm(0.8);
  }

  private row(columns: readonly Column[], cells: readonly Cell[], size: number, weight: Weight): void {
    const top = this.y;
    const step = fromPoints(size * LEADING);
    let x = LEFT;
    for (const [i, cell] of cells.entries()) {
      const width = columns[i]?.width ?? 0;
      this.y = top;
      if (typeof cell === "string")
        for (const line of this.linesOf(cell, size, width - mm(2), weight)) {
          this.y += step;
          this.put(line, x, size, weight);
        }
      else if ("tick" in cell) this.tick(x, top + step * 0.2, step * 0.75);
      else for (const words of cell.words) this.words(words, x, size, width - mm(2), step);
      x += width;
    }
    this.y = top + this.tall(columns, cells, size);
  }

  private words(words: SetText, x: number, size: number, width: number, step: number): void {
    if (isPlain(words.text)) {
      for (const line of this.wrap(`${words.slot}: ${words.text}`, size, width, "regular")) {
        this.y += step;
        this.put(line, x, size, "regular");
      }
      return;
    }
    // A script that our font lacks: the very outlines of the piece, brought to the height of a line.
    this.y += step;
    this.put(`${words.slot}: `, x, size, "regular");
    const start = x + this.lettering.width(`${words.slot}: `, size);
    this.outlined(words, start, width - (start - x), (step * 0.8) / Math.max(1, words.box.height), step);
  }

  /** Outlines on the line at the cursor, at this scale or as wide as they may be. */
  private outlined({ box, outlines, side }: SetText, start: number, width: number, most: number, step: number): void {
    const scale = Math.min(most, width / Math.max(1, box.width));
    const s = decimal(scale, 6);
    const [dx, dy] = [start - box.x * scale, this.up(this.y + step * 0.15) + (box.y + box.height) * scale];
    // What is read from behind lies mirrored in the drawing.
    const over = side === "back" ? `-1 0 0 1 ${pt(2 * box.x + box.width)} 0 cm\n` : "";
    this.draw(`q 0.15 g ${s} 0 0 -${s} ${pt(dx)} ${pt(dy)} cm\n${over}${pathOperators(outlines)}\nf Q`);
  }

  private tick(x: number, y: number, size: number): void {
    this.draw(`0.3 G 0.6 w ${pt(x)} ${pt(this.up(y + size))} ${pt(size)} ${pt(size)} re S`);
  }

  /** Greedy lines at spaces no wider than `width`; a word that is wider than the line is broken between letters. */
  wrap(text: string, size: number, width: number, weight: Weight = "regular"): string[] {
    const fits = (line: string): boolean => this.lettering.width(line, size, weight) <= width;
    const lines: string[] = [];
    let line = "";
    for (const word of text.split(" ")) {
      const longer = line === "" ? word : `${line} ${word}`;
      if (fits(longer)) {
        line = longer;
        continue;
      }
      if (line !== "") lines.push(line);
      line = word;
      while (!fits(line)) {
        const start = startOf(line, fits);
        if (start === line) break;
        lines.push(start);
        line = line.slice(start.length);
      }
    }
    lines.push(line);
    return lines;
  }
}

const graphemes = new Intl.Segmenter("en", { granularity: "grapheme" });

/** The longest start of a word that fits, at least one letter. */
const startOf = (word: string, fits: (text: string) => boolean): string => {
  const letters = Array.from(graphemes.segment(word), ({ segment }) => segment);
  let [most, tooMany] = [1, letters.length];
  while (tooMany - most > 1) {
    const middle = (most + tooMany) >> 1;
    if (fits(letters.slice(0, middle).join(""))) most = middle;
    else tooMany = middle;
  }
  return letters.slice(0, most).join("");
};

/** A shape as a form XObject. */
const formOf = async (context: PDFContext, { operators, box }: Shape): Promise<PDFRef> =>
  context.register(
    await flateStream(context, Buffer.from(operators, "latin1"), {
      Type: PDFName.of("XObject"),
      Subtype: PDFName.of("Form"),
      BBox: context.obj([box.x, box.y, box.x + box.width, box.y + box.height].map((um) => Number(pt(um)))),
    }),
  );
