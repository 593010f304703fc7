import {
  checkWhole,
  isOutputProfile,
  type JobFile,
  type JobSheet,
  sayBreaches,
  sheetName,
  WholePrint,
} from "@kitforme/files";
import type { Press } from "@kitforme/kit";
import { outputProfile } from "@kitforme/prepress";
import type { Sheet } from "@kitforme/sheet";
import { type Ref, Spool } from "@kitforme/threads";
import type { Destination, GrowingFile } from "./world.ts";

/** A print PDF of all sheets of a press, while it grows. */
interface Growing {
  readonly name: string;
  readonly press: Press;
  readonly sheets: readonly Sheet[];
  readonly file: GrowingFile;
  readonly print: WholePrint;
  /** First pages of the sheets that are in it. */
  readonly pages: number[];
  /** Sheets that came before their turn. */
  readonly early: Map<number, Ref>;
}

/**
 * Print PDFs of many sheets, where presses want them: `job.print.pdf`, and `job.print-2.pdf` for the sheets of a second press, whose
 * printing condition is another. Sheets come as they are finished and go in by their numbers, so that the same job is the same
 * bytes; what comes early waits on the disk.
 */
export class WholePrints {
  readonly #growing: readonly Growing[];
  readonly #ofSheet = new Map<string, readonly [Growing, Sheet]>();
  #spool: Spool | undefined;
  #turn: Promise<void> = Promise.resolve();

  private constructor(growing: readonly Growing[]) {
    this.#growing = growing;
    for (const one of growing)
      for (const sheet of one.sheets) this.#ofSheet.set(`${sheetName(sheet.sheet)}.print.pdf`, [one, sheet]);
  }

  /** Begins a file for each press that wants one. */
  static async begin(job: string, sheets: readonly Sheet[], out: Destination): Promise<WholePrints> {
    const presses = new Map<string, Sheet[]>();
    for (const sheet of sheets) {
      const { press } = sheet.stock;
      if (press?.files !== "whole" && press?.files !== "both") continue;
      presses.set(press.name, [...(presses.get(press.name) ?? []), sheet]);
    }
    const growing: Growing[] = [];
    for (const [i, own] of [...presses.values()].entries()) {
      const name = i === 0 ? "job.print.pdf" : `job.print-${i + 1}.pdf`;
      const press = own[0]?.stock.press as Press;
      const file = await (out.begin?.(name) ?? inMemory(name, out));
      const print = new WholePrint(`Job ${job}, ${own.length} sheets`, (bytes) => file.append(bytes));
      growing.push({ name, press, sheets: own, file, print, pages: [], early: new Map() });
    }
    return new WholePrints(growing);
  }

  /** Takes a file of a sheet. @returns whether it is to lie in the folder by itself too */
  async take(name: string, bytes: Uint8Array): Promise<boolean> {
    const known = this.#ofSheet.get(name);
    if (!known) return true;
    const [growing, sheet] = known;
    const done = this.#turn.then(() => this.#add(growing, sheet, bytes));
    this.#turn = done.catch(() => undefined);
    await done;
    return growing.press.files === "both";
  }

  async #add({ sheets, print, pages, early }: Growing, sheet: Sheet, bytes: Uint8Array): Promise<void> {
    const index = sheets.indexOf(sheet);
    if (index !== pages.length) {
      this.#spool ??= new Spool();
      early.set(index, this.#spool.put(bytes));
      return;
    }
    pages.push(await print.add(bytes));
    for (let next = early.get(pages.length); next && this.#spool; next = early.get(pages.length)) {
      early.delete(pages.length);
      pages.push(await print.add(this.#spool.get(next)));
    }
    if (this.#growing.every((one) => one.early.size === 0)) this.#spool?.cut(0);
  }

  /** Ends the files, reads them back and keeps them. @returns the sheets with where they are in them */
  async keep(sheets: readonly JobSheet[]): Promise<readonly JobSheet[]> {
    const places = new Map<Sheet, { readonly file: JobFile; readonly page: number }>();
    for (const { name, press, sheets: own, file, print, pages } of this.#growing) {
      if (pages.length !== own.length) throw new Error(`${name} lacks sheets`);
      const entry: JobFile = { name, ...(await print.end()) };
      const profile = outputProfile(press);
      const condition = profile !== null && isOutputProfile(profile.bytes);
      const expected = own.flatMap(({ width, height, back }) =>
        Array.from({ length: back ? 2 : 1 }, () => ({ width, height, condition })),
      );
      const read = (at: number, length: number): Promise<Uint8Array> => file.read(at, length);
      const breaches = await checkWhole({ length: entry.bytes, read }, expected);
      if (breaches.length > 0) throw new Error(sayBreaches(name, breaches));
      await file.keep();
      for (const [i, sheet] of own.entries()) places.set(sheet, { file: entry, page: pages[i] as number });
    }
    this.#clear();
    return sheets.map((one): JobSheet => {
      const whole = places.get(one.sheet);
      if (!whole) return one;
      const alone = one.sheet.stock.press?.files === "both";
      return { ...one, files: { ...one.files, ...(alone ? {} : { print: whole.file }), whole } };
    });
  }

  #clear(): void {
    this.#spool?.close();
    this.#spool = undefined;
  }

  /** Takes away what was not kept. */
  async drop(): Promise<void> {
    this.#clear();
    for (const { file } of this.#growing) await file.drop();
  }
}

/** For destinations that take files whole. */
const inMemory = (name: string, out: Destination): GrowingFile => {
  let all = Buffer.alloc(0);
  return {
    append: (bytes) => Promise.resolve(void (all = Buffer.concat([all, bytes]))),
    read: (at, length) => Promise.resolve(all.subarray(at, at + length)),
    keep: () => out.put(name, all),
    drop: () => Promise.resolve(),
  };
};
