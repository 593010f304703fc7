import type { Stock } from "@kitforme/kit";
import type { Furniture } from "./furniture.ts";
import type { SheetSize } from "./marks.ts";
import type { Placed, Sheet } from "./sheet.ts";
import type { Furnished } from "./waste/furnish-waste.ts";

/** Everything of a sheet that hangs on its stock and on which shapes lie where, and on nothing else. */
export interface SheetCuts extends Pick<Sheet, "lines" | "paths" | "work" | "cutLength"> {
  readonly furniture: Furniture | null;
  /** Only where the press asks for any. */
  readonly furnished?: Furnished;
}

/**
 * Lines, tool paths and marks of sheets already imposed, for sheets on which the same shapes lie at the same places: a thousand
 * personalised sheets have one set of them. Kept for one job.
 */
export class SameCuts {
  readonly #numbers = new WeakMap<object, number>();
  readonly #known = new Map<string, SheetCuts>();
  #last = 0;

  /** What `make` gives, made once for all that are alike. */
  of(stock: Stock, { width, height }: SheetSize, placed: readonly Placed[], make: () => SheetCuts): SheetCuts {
    // What shapes are is never looked at: one prepared piece is one object.
    const key = [
      this.#number(stock),
      width,
      height,
      ...placed.map(({ prepared, matrix }) => `${this.#number(prepared)} ${matrix.join(" ")}`),
    ].join();
    const known = this.#known.get(key) ?? make();
    this.#known.set(key, known);
    return known;
  }

  #number(thing: object): number {
    const number = this.#numbers.get(thing) ?? ++this.#last;
    this.#numbers.set(thing, number);
    return number;
  }
}
