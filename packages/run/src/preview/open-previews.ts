import { type CopySet, type PreviewBase, previewBase, writePreview } from "@kitforme/files";
import { type Finding, hasErrors, type Piece, readShop } from "@kitforme/kit";
import { JobName } from "../job-name.ts";
import { Openers } from "../outside/openers.ts";
import { type Inks, setSlots } from "../prepare-all.ts";
import { hasNoPlace, makerOf, readShelved } from "../read-all.ts";
import { byName, shelve } from "../shelf.ts";
import { sortFindings } from "../sort-findings.ts";
import type { KitStore, Named } from "../world.ts";
import { type Flaws, flawsOf } from "./flaws-of.ts";
import type { Opened, PreviewOptions } from "./opened.ts";
import { type CopyRead, ofCopy, readCopy } from "./read-copy.ts";
import { sayPreview } from "./words.ts";

/** The kit that is held open. */
export interface PreviewInput {
  readonly shop: Named;
  readonly kits: KitStore;
  /** Name of the kit. */
  readonly kit: string;
}

/** `png` is absent only where the piece itself cannot be shown; words at fault are left out of the picture. */
export interface Preview {
  readonly png?: Uint8Array;
  readonly findings: readonly Finding[];
}

/** Whether words fit their slot. */
export interface Fits {
  readonly fits: boolean;
  /** Type size in points that it is set in; absent when it does not fit, and for codes. */
  readonly size?: number;
  readonly findings: readonly Finding[];
}

/** A kit held open, to answer a store's page. Its processes run until `close`. */
export interface Previews {
  readonly kit: string;
  /** Pieces that can be shown, in the kit's order. */
  readonly pieces: readonly { readonly piece: string; readonly slots: readonly string[] }[];
  /** What is wrong with the shop and the kit, read as `check` reads it. */
  readonly findings: readonly Finding[];
  /** Makes the pictures of all pieces, so that the first copy is as quick as the next. */
  ready(): Promise<void>;
  /**
   * One copy of a piece as it looks when cut: PNG with everything outside of the cut clear.
   * @param copy slot name to text, or to a picture `{ file, crop? }`; other pieces' slots may stand in it
   * @param read gives a picture of the buyer's by its path
   * @param side the back as it looks when the piece is turned over, left for right
   */
  preview(piece: string, copy?: unknown, read?: Named["read"], side?: PreviewBase["side"]): Promise<Preview>;
  /** Whether a text fits its slot, and in which size. */
  fits(piece: string, slot: string, text: string): Promise<Fits>;
  /** Every finding of the kit, or of one piece, drawn at its place. */
  flaws(piece?: string): Promise<Flaws>;
  close(): Promise<void>;
}

/** Pictures of pieces kept at a time: 4 bytes a pixel, 10 MB at most by the default size. */
const MOST_BASES = 24;

/** See `openPreviews` of the front door. */
export const openPreviews = async (
  { shop: shopFile, kits, kit }: PreviewInput,
  options: PreviewOptions = {},
): Promise<{ readonly value?: Previews; readonly findings: readonly Finding[] }> => {
  const { value: shop, findings: ofShop } = readShop(shopFile.text);
  const found: Finding[] = ofShop.map((f) => ({ ...f, where: { ...f.where, file: shopFile.file } }));
  const shelf = byName(await shelve(kits, await kits.folders()));
  const shelved = shelf.get(kit.normalize("NFC"));
  if (!shelved) found.push(sayPreview("preview-no-kit", { kit }, { kit, known: [...shelf.keys()].sort() }));
  if (!shop || !shelved) return { findings: sortFindings(found) };
  const openers = new Openers(options.bounds);
  try {
    const maker = makerOf(shop);
    const answer = await readShelved(shelved, kits, maker, new JobName(), { openers });
    found.push(...maker.findings, ...answer.findings);
    const findings = sortFindings(found);
    const sound = answer.pieces.filter((piece) => !hasNoPlace(piece, answer.findings));
    const value = keep({ kit: shelved.kit, shop, sound, drawn: answer.drawn, found, openers, options });
    return { value: { ...value, findings }, findings };
  } catch (error) {
    await openers.close();
    throw error;
  }
};

const keep = (opened: Opened): Omit<Previews, "findings"> => {
  const { kit, shop, sound, drawn, found, openers, options } = opened;
  const inks: Inks = new Map();
  type Base = Promise<{ readonly base?: PreviewBase; readonly findings: readonly Finding[] }>;
  const bases = { front: new Map<Piece, Base>(), back: new Map<Piece, Base>() };
  // While this is open the fonts of the kit stay where they lie.
  let release = (): void => undefined;
  const held = openers.during(() => new Promise<void>((resolve) => (release = resolve)));
  // What is laid down for one picture is forgotten after it: one at a time, or it would be forgotten under another's hands.
  let last: Promise<unknown> = Promise.resolve();
  const alone = <T>(work: () => Promise<T>): Promise<T> => {
    const mine = last.then(() => openers.passing(work));
    last = mine.catch(() => undefined);
    return mine;
  };
  const makeBase = async (piece: Piece, side: PreviewBase["side"]): Base => {
    const press = shop.stocks[piece.stock]?.press ?? null;
    const { value, findings } = await openers.prepare(piece, press, "all", undefined);
    return value ? { base: await previewBase(value, press, options, side), findings } : { findings };
  };
  const baseOf = (piece: Piece, side: PreviewBase["side"] = "front"): Base => {
    const kept = bases[side];
    const known = kept.get(piece) ?? alone(() => makeBase(piece, side));
    kept.delete(piece);
    kept.set(piece, known);
    known.catch(() => kept.delete(piece));
    for (const eldest of kept.keys()) {
      if (kept.size <= MOST_BASES) break;
      kept.delete(eldest);
    }
    return known;
  };
  const named = (piece: string): { readonly piece: Piece } | { readonly findings: readonly Finding[] } => {
    const name = piece.normalize("NFC");
    const one = sound.find((p) => p.piece === name);
    if (one) return { piece: one };
    const where = { kit, piece };
    const known = drawn.map((p) => p.piece);
    const own = found.filter((f) => f.where.piece === name);
    if (own.length === 0 && !known.includes(name))
      return { findings: [sayPreview("preview-no-piece", where, { piece, known })] };
    return { findings: sortFindings([...own, sayPreview("preview-piece-at-fault", where, { piece })]) };
  };
  const set = async ({ article, pictures }: CopyRead): Promise<CopySet & { readonly findings: readonly Finding[] }> => {
    const ready = await setSlots([article], shop, pictures, { openers }, inks);
    return {
      texts: ready.texts.get(article.id) ?? [],
      pictures: ready.pictures.get(article.id) ?? [],
      findings: ready.findings.map((finding) => ofCopy(finding, article.piece)),
    };
  };

  return {
    kit,
    pieces: sound.map(({ piece, slots }) => ({ piece, slots: slots.map(({ slot }) => slot) })),
    ready: async () => {
      for (const piece of sound) {
        await baseOf(piece);
        // Opens the fonts and mixes the inks.
        const words = Object.fromEntries(piece.slots.flatMap((s) => (s.kind === "picture" ? [] : [[s.slot, "x"]])));
        await set(await readCopy(words, piece, sound, undefined));
      }
    },
    preview: async (piece, copy = {}, read, side = "front") => {
      const one = named(piece);
      if ("findings" in one) return one;
      const { base, findings } = await baseOf(one.piece, side);
      const words = await readCopy(copy, one.piece, sound, read);
      const draw = async (): Promise<Preview> => {
        const copySet = await set(words);
        const all = sortFindings([...findings, ...words.findings, ...copySet.findings]);
        return base ? { png: await writePreview(base, copySet), findings: all } : { findings: all };
      };
      return words.pictures.size > 0 ? alone(draw) : draw();
    },
    fits: async (piece, slot, text) => {
      const one = named(piece);
      if ("findings" in one) return { fits: false, ...one };
      const asked = one.piece.slots.find((s) => s.slot === slot.normalize("NFC"));
      const where = { kit, piece, slot };
      const known = one.piece.slots.map((s) => s.slot);
      if (!asked) return { fits: false, findings: [sayPreview("preview-no-slot", where, { slot, known })] };
      if (asked.kind === "picture") return { fits: false, findings: [sayPreview("preview-not-text", where, { slot })] };
      const only = { ...one.piece, slots: [asked] };
      const words = await readCopy({ [slot]: text }, only, [], undefined);
      const { texts, findings } = await set(words);
      const all = sortFindings([...words.findings, ...findings]);
      const [done] = texts;
      return {
        fits: !hasErrors(all),
        ...(done && asked.kind === "text" ? { size: done.size } : {}),
        findings: all,
      };
    },
    flaws: (piece) => alone(() => flawsOf(opened, piece?.normalize("NFC"))),
    close: async () => {
      await last;
      release();
      await held;
      await openers.close();
    },
  };
};
