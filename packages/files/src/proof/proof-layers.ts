import { outputProfile, type PreparedPiece } from "@kitforme/prepress";
import type { Sheet } from "@kitforme/sheet";
import { writePrint } from "../print.ts";
import { type Named, type ProofPage, REMEMBERED } from "./draw-proof.ts";
import type { PackedPictures } from "../pdf/packed-pictures.ts";
import { Recent } from "./recent.ts";

/** Keys that are equal for sheets that look alike but for their words. */
class Looks {
  readonly #numbers = new WeakMap<PreparedPiece, number>();
  #last = 0;

  keyOf({ stock, width, height, placed, lines, marks }: Sheet): string {
    const of = (prepared: PreparedPiece): number => {
      const number = this.#numbers.get(prepared) ?? ++this.#last;
      this.#numbers.set(prepared, number);
      return number;
    };
    const places = placed.map(({ number, prepared, matrix, texts }) => {
      // Numbers keep away from words: where a slot says where they stand, its name is enough.
      const words = texts.map(({ slot, side, box }) =>
        prepared.piece.slots.some((s) => s.slot === slot) ? `${slot} ${side}` : JSON.stringify(box),
      );
      return [number, of(prepared), ...matrix, ...words].join(" ");
    });
    // Lines are those of the pieces at their places.
    return [stock.stock, width, height, lines.length, JSON.stringify(marks), ...places].join();
  }
}

/** Numbers of the sheets that look like another of the job but for their words: their artwork is worth drawing once. */
export const alikeSheets = (sheets: readonly Sheet[]): ReadonlySet<number> => {
  const looks = new Looks();
  const first = new Map<string, number>();
  const alike = new Set<number>();
  for (const sheet of sheets) {
    const key = looks.keyOf(sheet);
    const other = first.get(key);
    if (other === undefined) first.set(key, sheet.sheet);
    else alike.add(other).add(sheet.sheet);
  }
  return alike;
};

/**
 * What proofs of a job's sheets have in common: where the same pieces lie at the same places, artwork and lines are one picture, and
 * only words and pictures of buyers differ.
 */
export class ProofLayers {
  readonly #looks = new Looks();
  readonly #artwork = new Recent<Promise<Uint8Array>>(REMEMBERED);
  readonly #drawings = new Recent<string>(2 * REMEMBERED);
  readonly #alike: ReadonlySet<number>;
  readonly #pictures: PackedPictures | undefined;

  /**
   * @param alike sheets whose artwork is drawn apart, from `alikeSheets`
   * @param pictures that their print PDFs have packed
   */
  constructor(alike: ReadonlySet<number> = new Set(), pictures?: PackedPictures) {
    this.#alike = alike;
    this.#pictures = pictures;
  }

  /** The same for sheets that look alike but for their words. */
  keyOf(sheet: Sheet): string {
    return this.#looks.keyOf(sheet);
  }

  /** Artwork and the rest of a page of the sheet's print, where the artwork is that of other sheets too. */
  async of(
    sheet: Sheet,
    page: number,
  ): Promise<{ readonly artwork: Named<ProofPage>; readonly rest: ProofPage } | undefined> {
    if (!this.#alike.has(sheet.sheet)) return undefined;
    const key = this.keyOf(sheet);
    const print = await this.#artwork.of(key, () => only(sheet, "artwork", this.#pictures));
    const rest = await only(sheet, "rest", this.#pictures);
    return { artwork: { key: `${key} ${page}`, from: { print, page } }, rest: { print: rest, page } };
  }

  /** The drawing of a name, by `make` when it is not at hand. */
  drawing(key: string, make: () => string): string {
    return this.#drawings.of(key, make);
  }
}

/** A print PDF of the sheet with a part of what is on it. */
const only = (sheet: Sheet, part: "artwork" | "rest", pictures: PackedPictures | undefined): Promise<Uint8Array> => {
  const { press } = sheet.stock;
  if (!press) throw new Error("an unprinted sheet has no print");
  const shown =
    part === "artwork"
      ? {
          ...sheet,
          placed: sheet.placed.map((placed) => ({ ...placed, texts: [], pictures: [] })),
          marks: [],
          inks: [],
          ...(sheet.back ? { back: { ...sheet.back, inks: [] } } : {}),
        }
      : { ...sheet, placed: sheet.placed.map((placed) => ({ ...placed, prepared: bare(placed.prepared) })) };
  return writePrint(shown, { title: part, profile: outputProfile(press), ...(pictures ? { pictures } : {}) });
};

const bare = (prepared: PreparedPiece): PreparedPiece => ({
  ...prepared,
  layers: [],
  ...(prepared.back ? { back: { ...prepared.back, layers: [] } } : {}),
});
