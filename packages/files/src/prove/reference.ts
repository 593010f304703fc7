import { mm } from "@kitforme/geometry";
import type { Press } from "@kitforme/kit";
import { type Ink, outputProfile, type PreparedPiece, renderRegions, type SetPicture } from "@kitforme/prepress";
import type { Placed } from "@kitforme/sheet";
import { writePrint } from "../print.ts";
import type { Look } from "../proof/drawing-threads.ts";
import { drawReference, type Reference } from "./draw-reference.ts";
import { sideOf } from "./expected.ts";
import { KnownPages } from "./known-pages.ts";
import { ProvenCuts } from "./proven-cuts.ts";
import { lookAt } from "./seen.ts";

/** Bytes of references kept for the next sheet: those of a sheet of 320 x 450 mm on which no two pieces are the same are 90 MB. */
const MOST_BYTES = 96 * 2 ** 20;
/** Bytes of a reference to those of its colour: limits, before and after they are widened, take twice as many each; reach two thirds. */
const TO_COLOUR = 5.7;

interface Kept {
  readonly prepared: PreparedPiece;
  readonly made: Promise<Reference>;
  /** 0 until it is drawn. */
  bytes: number;
}

/** References of a job's pieces: each is drawn once, from a print PDF that holds nothing else, while it is remembered. */
export class References {
  readonly #kept = new Map<string, Kept>();
  readonly #inks = new Map<string, Promise<readonly [number, number, number]>>();
  #bytes = 0;
  /** Cut files that were proven. */
  readonly cuts = new ProvenCuts();
  /** Pages that were proven. */
  readonly pages = new KnownPages();
  /** Who draws the pages that are looked at. */
  readonly look: Look;
  /** Numbers of the sheets that look like another of the job but for their words: of these only what differs is looked at. */
  readonly alike: ReadonlySet<number>;

  /**
   * @param look left out: this thread draws
   * @param alike from `alikeSheets`; left out, every page is looked at whole
   */
  constructor(look: Look = renderRegions, alike: ReadonlySet<number> = new Set()) {
    this.look = look;
    this.alike = alike;
  }

  /** @param pictures the buyer's, for a piece that has any */
  of(
    prepared: PreparedPiece,
    press: Press,
    side: "front" | "back",
    pictures: readonly SetPicture[],
  ): Promise<Reference> {
    const { kit, piece } = prepared.piece;
    if (pictures.length > 0) return drawReference(prepared, press, side, pictures, this.look);
    const key = JSON.stringify([kit, piece, side]);
    const known = this.#kept.get(key);
    this.#forget(key);
    if (known?.prepared === prepared) {
      // A Map lists its keys by age of insertion: taking out and putting back makes it the youngest.
      this.#keep(key, known);
      return known.made;
    }
    const kept: Kept = { prepared, made: drawReference(prepared, press, side, [], this.look), bytes: 0 };
    this.#keep(key, kept);
    void kept.made.then(
      ({ colour }) => {
        if (this.#kept.get(key) !== kept) return;
        this.#forget(key);
        kept.bytes = colour.length * TO_COLOUR;
        this.#keep(key, kept);
      },
      () => this.#kept.get(key) === kept && this.#forget(key),
    );
    return kept.made;
  }

  #forget(key: string): void {
    this.#bytes -= this.#kept.get(key)?.bytes ?? 0;
    this.#kept.delete(key);
  }

  /** As the youngest; those that were asked for longest ago go where there are too many. */
  #keep(key: string, one: Kept): void {
    this.#kept.set(key, one);
    this.#bytes += one.bytes;
    for (const [eldest, { bytes }] of this.#kept) {
      if (this.#bytes <= MOST_BYTES) break;
      // One that is still being drawn has no bytes yet.
      if (bytes > 0) this.#forget(eldest);
    }
  }

  /** How an ink looks on paper, RGB. */
  colourOf(ink: Ink, press: Press): Promise<readonly [number, number, number]> {
    const key = JSON.stringify([ink, press.colour]);
    const known = this.#inks.get(key) ?? swatch(ink, press, this.look);
    this.#inks.set(key, known);
    return known;
  }
}

/** The reference of a placement's side. */
export const referenceOf = (
  { prepared, pictures }: Placed,
  press: Press,
  side: "front" | "back",
  references: Pick<References, "of">,
): Promise<Reference> => references.of(prepared, press, side, sideOf(pictures, side));

/** References as one sheet asks for them: those with a buyer's pictures are drawn once, and given up with the sheet. */
export const referencesOfSheet = (references: References): Pick<References, "of" | "colourOf"> => {
  const drawn = new Map<SetPicture, { readonly prepared: PreparedPiece; readonly made: Promise<Reference> }>();
  return {
    colourOf: (ink, press) => references.colourOf(ink, press),
    of: (prepared, press, side, pictures) => {
      const [first] = pictures;
      const known = first && drawn.get(first);
      if (known?.prepared === prepared) return known.made;
      const made = references.of(prepared, press, side, pictures);
      if (first) drawn.set(first, { prepared, made });
      return made;
    },
  };
};

const swatch = async (ink: Ink, press: Press, look: Look): Promise<readonly [number, number, number]> => {
  const size = { width: mm(2), height: mm(2) };
  const outlines = "M 0 0 L 2000 0 L 2000 2000 L 0 2000 Z";
  const sheet = { ...size, stock: { stock: "swatch", press }, placed: [], inks: [{ outlines, ink }], marks: [] };
  const print = await writePrint(sheet, { title: "swatch", profile: outputProfile(press) });
  const [part] = (await lookAt(look, print, 0, size, [{ x: 0, y: 0, ...size }])).parts;
  const at = part ? (Math.floor(part.height / 2) * part.width + Math.floor(part.width / 2)) * 4 : 0;
  return [part?.data[at] ?? 0, part?.data[at + 1] ?? 0, part?.data[at + 2] ?? 0];
};
