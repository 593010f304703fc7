// Every question that is put to the processes that open what comes from outside, with the bounds and the answer of each.
import type {
  Artwork,
  BuyersPicture,
  Finding,
  OpenAssembly,
  OpenPiece,
  Piece,
  Place,
  Press,
  ReadFile,
  Slot,
  TextSlot,
} from "@kitforme/kit";
import type { Layer, Prepared, PreparedPiece, SetPicture, SetText } from "@kitforme/prepress";
import { type Bounds, Crew, entryOf, Exhausted, type Ref, TaskFailed } from "@kitforme/threads";
import { FailedRun } from "../failures.ts";
import { FolderCache } from "../folder-cache.ts";
import { keepPiece, keptPiece, keyOf } from "./kept-pieces.ts";
import { ownCopy } from "./own-copy.ts";
import {
  READS_FIRST,
  type Answers,
  type FileWanted,
  type SpooledLayer,
  type SpooledPiece,
  type Task,
  type TextWanted,
  type Want,
} from "./tasks.ts";
import { sayOutside } from "./words.ts";

export { FolderCache };

/** MiB of JavaScript heap of a process: drawings of 200,000 elements take 400. */
const HEAP = 1024;

/** What each step with one file may use. */
export interface OpeningBounds {
  /** Reading a drawing. */
  readonly reading: Bounds;
  /** Opening artwork, making its bleed. */
  readonly preparing: Bounds;
  /** Fonts and texts: up to 200 texts at a time. */
  readonly setting: Bounds;
}

/**
 * Counts and sizes are bounded where files are read, and nearly all is refused there; these are the backstop behind them, and
 * only ever refuse. The largest pictures that are opened (100 million pixels) take 9 s and 1.3 GiB; all other files of our
 * tests less than 2 s.
 */
export const BOUNDS: OpeningBounds = {
  reading: { seconds: 5, memory: 1536 },
  preparing: { seconds: 15, memory: 2560 },
  setting: { seconds: 15, memory: 1024 },
};

/** MiB that ordinary pieces stay below: a process that the system ends sooner did not run out of memory by its file. */
const MODEST = 512;

/** Throws where the system ended a process that held little: then the machine is too small or too full, and no file is to blame. */
const throwIfStarved = ({ why, held }: Exhausted): void => {
  if (why !== "killed" || held >= MODEST) return;
  throw new FailedRun({
    kind: "environment",
    message: `the system twice ended a process that opens files, which held ${held} MiB: this machine or its container is short of memory. Give it more, or make fewer jobs at once.`,
  });
};

/**
 * Child processes that open whatever comes from outside: drawings, pictures, PDFs, fonts. A file that exhausts its process,
 * or breaks the library that reads it, becomes a finding at its piece; its neighbours never notice.
 *
 * Pieces come back with their pictures and fonts in a temporary file, and so do the rasters made of them and the outlines of long
 * texts: memory stays flat however many there are. They are read when asked for, until `forget` or `close`.
 *
 * @example
 * const openers = new Openers({ reading: { seconds: 10, memory: 1536 } }); // kept warm from one job to the next
 * await run({ shop, orders: [order] }, { kits: kitsIn("kits"), out: () => jobFolder("out") }, { openers });
 * await openers.close();
 */
export class Openers {
  readonly #crew: Crew;
  /** Where the bytes of an artwork or a font lie. */
  readonly #places = new WeakMap<object, Ref>();
  /** What each step with one file may use. */
  readonly bounds: OpeningBounds;
  readonly #cache: FolderCache | undefined;
  #runs = 0;

  /** @param cache where prepared pieces are kept from one run to the next; left out, nowhere */
  constructor(bounds: Partial<OpeningBounds> = {}, cache?: FolderCache) {
    this.bounds = { ...BOUNDS, ...bounds };
    this.#cache = cache;
    this.#crew = new Crew(entryOf(import.meta.url, "./opener"), HEAP);
  }

  /** Starts so many processes ahead of their tasks; they load what reads drawings at once, which is what a run begins with. */
  warm(count: number): void {
    this.#crew.warm(count, [READS_FIRST]);
  }

  /** Work within which nothing is forgotten; the spool is emptied when the last has ended. */
  async during<T>(work: () => Promise<T>): Promise<T> {
    this.#runs++;
    try {
      return await work();
    } finally {
      this.#runs--;
      if (this.#runs === 0) this.#crew.spool.cut(0);
    }
  }

  /** All that was read and made within `work` is forgotten after it, when nobody else is at work. */
  async passing<T>(work: () => Promise<T>): Promise<T> {
    const { spool } = this.#crew;
    const before = spool.end;
    const alone = this.#runs === 1;
    const result = await work();
    if (alone && this.#runs === 1) spool.cut(before);
    return result;
  }

  /** Ends the processes that wait, and with them the memory they keep; the next file starts another. */
  async rest(): Promise<void> {
    await this.#crew.rest();
  }

  /** Ends all processes. What was made is forgotten. */
  async close(): Promise<void> {
    await this.#crew.close();
  }

  /** Opens pieces of one kit; each of its files is read once. */
  opener(signal: AbortSignal | undefined): OpenPiece {
    const known = new Map<string, Promise<Ref | undefined>>();
    return async (request, read) => {
      const { kit, form } = request;
      const where = { kit: kit.name, piece: form.piece.normalize("NFC"), file: form.drawing };
      const answer = await this.#try(
        { do: "open", request },
        this.bounds.reading,
        (how) => this.#blame(how, where, `reading the piece from ${form.drawing}`),
        signal,
        ({ path }) => {
          const ref = known.get(path) ?? this.#fetch(path, read);
          known.set(path, ref);
          return ref;
        },
      );
      if ("blamed" in answer) return { findings: [answer.blamed] };
      const { piece, findings } = answer.value;
      return { ...(piece ? { piece: this.#unpacked(piece) } : {}), findings };
    };
  }

  /** Like prepress's `openAssembly`; the pages are read when asked for. */
  assemblyOpener(signal: AbortSignal | undefined): OpenAssembly {
    return async ({ kit, file, bytes }) => {
      const answer = await this.#try(
        { do: "assembly", kit, file, bytes: this.#crew.spool.put(bytes) },
        this.bounds.preparing,
        (how) => this.#blame(how, { kit, file, field: "assembly" }, `opening the assembly pages ${file}`),
        signal,
      );
      if ("blamed" in answer) return { findings: [answer.blamed] };
      const { pages, findings } = answer.value;
      if (!pages) return { findings };
      const { spool } = this.#crew;
      return {
        value: { file, pages: pages.map((at) => lazily({ bytes: NONE }, "bytes", () => spool.get(at))) },
        findings,
      };
    };
  }

  /** Like prepress's `prepare`, and of it what is wanted. */
  async prepare(
    piece: Piece,
    press: Press | null,
    want: Want,
    signal: AbortSignal | undefined,
  ): Promise<Prepared<PreparedPiece>> {
    const { facesOf, withBack } = await import("@kitforme/prepress/faces");
    const faces = facesOf(piece);
    if (!faces) return this.#prepareFace(piece, press, want, signal);
    const front = await this.#prepareFace(faces.front, press, want, signal);
    return withBack(piece, front, await this.#prepareFace(faces.back, press, want, signal));
  }

  async #prepareFace(
    piece: Piece,
    press: Press | null,
    want: Want,
    signal: AbortSignal | undefined,
  ): Promise<Prepared<PreparedPiece>> {
    // Nothing of it comes from outside but its lines, which were read.
    if (!piece.artwork || !press) return (await import("@kitforme/prepress")).prepare(piece, press);
    const packed = this.#packed(piece);
    const cache = this.#cache;
    const key = cache && (await keyOf(packed, press, want, this.#crew.spool));
    const kept = cache && key !== undefined ? await keptPiece(cache, key, this.#crew.spool) : undefined;
    if (kept) return this.#prepared(piece, kept);
    const { file } = piece.artwork;
    const answer = await this.#try(
      { do: "prepare", piece: packed, press, want },
      this.bounds.preparing,
      (how) => this.#blame(how, { ...placeOf(piece), file }, `opening the artwork ${file}`),
      signal,
    );
    // What exhausted its process may do better where there is more room: it is not kept.
    if ("blamed" in answer) return { findings: [answer.blamed] };
    if (cache && key !== undefined) await keepPiece(cache, key, answer.value, this.#crew.spool);
    return this.#prepared(piece, answer.value);
  }

  /** Whether a piece lies prepared in the cache. Nothing is read of it. */
  async keeps(piece: Piece, press: Press): Promise<boolean> {
    if (!this.#cache) return false;
    const { facesOf } = await import("@kitforme/prepress/faces");
    const faces = facesOf(piece);
    for (const face of faces ? [faces.front, faces.back] : [piece])
      if (face.artwork && !(await this.#cache.has(await keyOf(this.#packed(face), press, "all", this.#crew.spool))))
        return false;
    return true;
  }

  /** A piece that another prepared, as if it had been prepared here: its bytes lie in the spool. */
  takeOver({ piece, layers, back, ...rest }: PreparedPiece): PreparedPiece {
    const laid = (all: readonly Layer[]): SpooledLayer[] => all.map((layer) => this.#laid(layer));
    const own = ownCopy({ rest, front: laid(layers), back: back && { ...back, layers: laid(back.layers) } });
    const read = (all: readonly SpooledLayer[]): Layer[] => all.map((layer) => this.#layer(layer));
    return {
      ...own.rest,
      piece,
      layers: read(own.front),
      ...(own.back ? { back: { ...own.back, layers: read(own.back.layers) } } : {}),
    };
  }

  #laid(layer: Layer): SpooledLayer {
    const { spool } = this.#crew;
    if (layer.kind === "page")
      return {
        layer: { ...layer, page: { ...layer.page, bytes: NONE } },
        bytes: spool.put(layer.page.bytes),
        profile: undefined,
      };
    const { profile, ...raster } = layer.raster;
    return {
      layer: { ...layer, raster: { ...raster, data: { ...raster.data, bytes: NONE } } },
      bytes: spool.put(raster.data.bytes),
      profile: profile && spool.put(profile),
    };
  }

  #prepared(piece: Piece, { value, findings }: Answers["prepare"]): Prepared<PreparedPiece> {
    if (!value) return { findings };
    return { value: { ...value, piece, layers: value.layers.map((l) => this.#layer(l)) }, findings };
  }

  /** Like prepress's `checkFonts`. */
  async checkFonts(piece: Piece, signal: AbortSignal | undefined): Promise<readonly Finding[]> {
    if (piece.slots.every((slot) => fontsOf(slot).length === 0)) return [];
    const answer = await this.#try(
      { do: "fonts", piece: this.#packed(piece) },
      this.bounds.setting,
      (how) => this.#blame(how, placeOf(piece), "opening the piece's fonts"),
      signal,
    );
    return "blamed" in answer ? [answer.blamed] : answer.value;
  }

  /** Like prepress's `setText`, for many texts of one piece. */
  async setTexts(
    piece: Piece,
    texts: readonly TextWanted[],
    signal: AbortSignal | undefined,
  ): Promise<readonly Prepared<SetText>[]> {
    const answer = await this.#try(
      { do: "texts", piece: this.#packed(piece), texts },
      this.bounds.setting,
      (how) => this.#blame(how, { ...placeOf(piece), ...slotOf(piece, texts) }, "setting the text"),
      signal,
    );
    if ("value" in answer)
      return answer.value.map((one) => (one.value ? { ...one, value: this.aside(one.value) } : one));
    if (texts.length < 2) return [{ findings: [answer.blamed] }];
    // One of them is at fault, and the others are not.
    const half = Math.ceil(texts.length / 2);
    const first = await this.setTexts(piece, texts.slice(0, half), signal);
    return [...first, ...(await this.setTexts(piece, texts.slice(half), signal))];
  }

  /** Words, code or slug with their outlines in the temporary file, where they are long: a job of 20,000 names has some 150 MB of them. */
  aside<T extends { readonly outlines: string }>(shape: T): T {
    const { outlines } = shape;
    if (outlines.length < SHORT) return shape;
    const { spool } = this.#crew;
    // Path data is ASCII.
    const at = spool.put(Buffer.from(outlines, "latin1"));
    return lazily({ ...shape, outlines: "" }, "outlines", () => Buffer.from(spool.get(at).buffer).toString("latin1"));
  }

  /** Like prepress's `setPicture`, of the slot with this number. */
  async setPicture(
    piece: Piece,
    slot: number,
    picture: BuyersPicture & { readonly bytes: Uint8Array },
    press: Press,
    signal: AbortSignal | undefined,
  ): Promise<Prepared<SetPicture>> {
    const { bytes, ...named } = picture;
    const place = { ...placeOf(piece), ...slotOf(piece, [{ slot }]) };
    const answer = await this.#try(
      { do: "picture", piece: this.#packed(piece), press, slot, picture: named, bytes: this.#crew.spool.put(bytes) },
      this.bounds.preparing,
      (how) => this.#blame(how, { ...place, file: picture.file }, `opening the picture ${picture.file}`),
      signal,
    );
    if ("blamed" in answer) return { findings: [answer.blamed] };
    const { value, findings } = answer.value;
    return value ? { value: { ...value, layer: this.#layer(value.layer) }, findings } : { findings };
  }

  async #try<T extends Task>(
    task: T,
    bounds: Bounds,
    blame: (error: Exhausted | TaskFailed) => Finding,
    signal: AbortSignal | undefined,
    file?: (wanted: FileWanted) => Promise<Ref | undefined>,
  ): Promise<{ readonly value: Answers[T["do"]] } | { readonly blamed: Finding }> {
    // A failure of the disk under the kits is no fault of the piece, though it crosses the process.
    let disk: unknown;
    const answer = (question: unknown): Promise<unknown> =>
      (file?.(question as FileWanted) ?? Promise.reject(new Error("no file is to be had here"))).catch(
        (error: unknown) => {
          disk = error;
          throw error;
        },
      );
    try {
      return { value: await this.#crew.do<Answers[T["do"]]>({ task, bounds, answer, signal }) };
    } catch (error) {
      if (disk !== undefined) throw disk;
      if (error instanceof Exhausted) throwIfStarved(error);
      if (error instanceof Exhausted || (error instanceof TaskFailed && error.code === undefined))
        return { blamed: blame(error) };
      throw error;
    }
  }

  #blame(error: Exhausted | TaskFailed, where: Place, what: string): Finding {
    const sentence = what[0]?.toUpperCase() + what.slice(1);
    if (error instanceof TaskFailed)
      return sayOutside("file-breaks-reader", where, { what: sentence, how: error.message });
    return error.why === "crashed"
      ? sayOutside("file-breaks-reader", where, { what: sentence, how: "the library that reads it crashed" })
      : sayOutside("file-too-heavy", where, { what: sentence, why: error.why, bounds: error.bounds });
  }

  async #fetch(path: string, read: ReadFile): Promise<Ref | undefined> {
    const bytes = await read(path);
    return bytes && this.#crew.spool.put(bytes);
  }

  /** Whole again, but for bytes that are read when asked for. */
  #unpacked({ piece, artwork: ref, back: behind, fonts }: SpooledPiece): Piece {
    const { spool } = this.#crew;
    const { artwork, back } = piece;
    const placed = <T extends object>(thing: T, at: Ref): T => {
      this.#places.set(thing, at);
      return thing;
    };
    const whole = (empty: Artwork | null, at: Ref | undefined): Artwork | null =>
      empty && at
        ? placed(
            empty.kind === "drawing"
              ? lazily(empty, "svg", () => new TextDecoder().decode(spool.get(at)))
              : lazily(empty, "bytes", () => spool.get(at)),
            at,
          )
        : null;
    return {
      ...piece,
      artwork: whole(artwork, ref),
      ...(back ? { back: { ...back, artwork: whole(back.artwork, behind) } } : {}),
      slots: piece.slots.map((slot, i) =>
        withFonts(slot, (font, k) => {
          const at = fonts[i]?.[k] as Ref;
          return placed(
            lazily(font, "bytes", () => spool.get(at)),
            at,
          );
        }),
      ),
    };
  }

  #packed({ back: _back, ...piece }: Piece): SpooledPiece {
    const { artwork } = piece;
    const place = (thing: object, bytes: () => Uint8Array): Ref => {
      const ref = this.#places.get(thing) ?? this.#crew.spool.put(bytes());
      this.#places.set(thing, ref);
      return ref;
    };
    return {
      piece: {
        ...piece,
        artwork:
          artwork &&
          (artwork.kind === "drawing"
            ? { ...bare(artwork, "svg"), svg: "" }
            : { ...bare(artwork, "bytes"), bytes: NONE }),
        slots: piece.slots.map((slot) => withFonts(slot, ({ file }) => ({ file, bytes: NONE }))),
      },
      artwork:
        artwork === null
          ? undefined
          : place(artwork, () => (artwork.kind === "drawing" ? Buffer.from(artwork.svg) : artwork.bytes)),
      fonts: piece.slots.map((slot) => fontsOf(slot).map((font) => place(font, () => font.bytes))),
    };
  }

  #layer({ layer, bytes, profile }: SpooledLayer): Layer {
    const { spool } = this.#crew;
    if (layer.kind === "page") return { ...layer, page: lazily(layer.page, "bytes", () => spool.get(bytes)) };
    const raster = { ...layer.raster, data: lazily(layer.raster.data, "bytes", () => spool.get(bytes)) };
    return {
      ...layer,
      raster: profile ? lazily({ ...raster, profile: NONE }, "profile", () => spool.get(profile)) : raster,
    };
  }
}

const NONE = new Uint8Array();
/** Characters of path data that are kept in memory: an object that reads them when asked takes some hundred bytes itself. */
const SHORT = 1024;

const placeOf = ({ kit, piece, stock }: Piece): Place => ({ kit, piece, stock });
const fontsOf = (slot: Slot): TextSlot["fonts"] => (slot.kind === "text" ? slot.fonts : []);
const withFonts = (
  slot: Slot,
  font: (font: TextSlot["fonts"][number], k: number) => TextSlot["fonts"][number],
): Slot => (slot.kind === "text" ? { ...slot, fonts: slot.fonts.map(font) } : slot);
const slotOf = ({ slots }: Piece, texts: readonly Pick<TextWanted, "slot">[]): Place => {
  const slot = texts[0] && slots[texts[0].slot]?.slot;
  return slot === undefined ? {} : { slot };
};

/** The thing with one of its values made each time it is asked for. */
const lazily = <T extends object, K extends keyof T>(thing: T, key: K, value: () => T[K]): T =>
  Object.defineProperty({ ...thing }, key, { enumerable: true, configurable: true, get: value });

/** The thing without one of its values, which is not made for it. */
const bare = <T extends object, K extends keyof T>(thing: T, key: K): Omit<T, K> =>
  Object.fromEntries(Object.keys(thing).flatMap((k) => (k === key ? [] : [[k, thing[k as keyof T]]]))) as Omit<T, K>;
