import { createHash } from "node:crypto";
import type { CutFormat } from "@kitforme/kit";
import type { Sheet } from "@kitforme/sheet";
import { proveCuts, type ProvenLines } from "./prove-cuts.ts";
import { READABLE } from "../cut/read-cut.ts";
import { nameless } from "./own-name.ts";

/** How many findings are kept: sheets of one cut geometry follow each other. */
const MOST = 4;

/**
 * Cut files that are the very bytes of files already proven, but for the sheet's own name, over the same lines: they need no
 * second proof. Any other byte, and the whole proof is made.
 */
export class ProvenCuts {
  readonly #numbers = new WeakMap<object, number>();
  #kept: readonly { readonly key: string; readonly proven: ProvenLines }[] = [];
  #last = 0;

  /** See `proveCuts`. */
  async prove(sheet: Sheet, cuts: Readonly<Partial<Record<CutFormat, Uint8Array>>>): Promise<ProvenLines> {
    const key = this.#keyOf(sheet, cuts);
    const known = this.#kept.find((one) => one.key === key);
    const proven = known?.proven ?? (await proveCuts(sheet, cuts));
    if (key !== undefined && proven.faults.length === 0)
      this.#kept = [{ key, proven }, ...this.#kept.filter((one) => one !== known)].slice(0, MOST);
    return proven;
  }

  /** Undefined where a file does not name its sheet: that is for the proof to say. */
  #keyOf(sheet: Sheet, cuts: Readonly<Partial<Record<CutFormat, Uint8Array>>>): string | undefined {
    const hash = createHash("sha256");
    const { width, height, stock, placed, paths } = sheet;
    hash.update(`${this.#number(stock.cutter)} ${width} ${height} ${this.#number(paths)}\n`);
    for (const { prepared, matrix } of placed) hash.update(`${this.#number(prepared)} ${matrix.join(" ")}\n`);
    for (const format of READABLE) {
      const file = cuts[format];
      if (!file) continue;
      const bare = nameless(sheet, format, file);
      // It does not name its sheet.
      if (bare.length === file.length) return undefined;
      hash.update(`${format} ${bare.length}\n`).update(bare, "latin1");
    }
    return hash.digest("hex");
  }

  #number(thing: object): number {
    const number = this.#numbers.get(thing) ?? ++this.#last;
    this.#numbers.set(thing, number);
    return number;
  }
}
