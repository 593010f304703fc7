import { type Caution, cautionsForPieces, type Handled } from "@kitforme/files/record";
import type { Finding, Piece, Shop } from "@kitforme/kit";
import type { Effort } from "@kitforme/layout";
import { articlesOf } from "./demands-of.ts";
import { inLanes } from "./lanes.ts";
import { machineFaults } from "./machine-faults.ts";
import { obstructed } from "./obstructed.ts";
import { type Options, withOpeners } from "./outside/with-openers.ts";
import { lanesFor, preparePieces, setSlots } from "./prepare-all.ts";
import { type Input, type Read, readAll, UNNAMED } from "./read-all.ts";
import { setAddresses } from "./set-addresses.ts";
import { sortFindings } from "./sort-findings.ts";
import { tooManySheets } from "./too-many-sheets.ts";
import type { Work } from "./watch.ts";
import type { KitStore } from "./world.ts";

/** What is to be checked: orders with the kits they name, and kits by their folders, which need not be on the store's shelf. */
export interface ToCheck extends Input {
  readonly folders?: readonly string[];
}

/** What was found, and what those who make or get the pieces must know. */
export interface Checked {
  readonly findings: readonly Finding[];
  /** Cautions for those who make these pieces, and for those who get them. */
  readonly cautions: readonly Caution[];
}

/** How a check is watched. */
export interface CheckOptions extends Options {
  /**
   * Hears of findings while the check goes on: those of a kit as soon as it has been looked at, errors first, and at the end whatever
   * is left. Each is heard of once; the answer has all of them.
   */
  readonly onFindings?: (findings: readonly Finding[]) => void;
}

/** `make` lays out with this effort unless asked otherwise: what it finds no place for, check finds. */
const EFFORT: Effort = "normal";

/** See `check` of the front door. */
export const check = async (
  input: ToCheck,
  kits: KitStore,
  { onFindings, ...watch }: CheckOptions = {},
): Promise<Checked> =>
  withOpeners(watch, async (work) => {
    const findings: Finding[] = [];
    const handled: Handled[] = [];
    const tell = teller(onFindings);
    const looked = async (
      pieces: readonly Piece[],
      shop: Shop | undefined,
      read: readonly Finding[],
    ): Promise<void> => {
      const found = [...read, ...(shop ? await lookAt(pieces, shop, EFFORT, work) : [])];
      if (shop) handled.push(...pieces.map((piece) => handledAs(piece, shop)));
      findings.push(...found);
      tell(found);
    };
    const also = { folders: input.folders ?? [], met: tell, looked };
    const read = await readAll(input, kits, { effort: UNNAMED, also }, work);
    findings.push(...(await lookOver(read, EFFORT, work)));
    tell(findings);
    const { shop } = read;
    if (shop) handled.push(...read.pieces.map((piece) => handledAs(piece, shop)));
    return { findings: sortFindings(findings), cautions: cautionsForPieces(handled) };
  });

/** Tells of findings that have not been told of. */
const teller = (onFindings: CheckOptions["onFindings"]): ((findings: readonly Finding[]) => void) => {
  const known = new Set<string>();
  return (findings) => {
    if (!onFindings) return;
    const fresh = findings.filter((finding) => !known.has(JSON.stringify(finding)));
    for (const finding of fresh) known.add(JSON.stringify(finding));
    if (fresh.length > 0) onFindings(sortFindings(fresh));
  };
};

/** What cautions need of a piece; its shapes only where they are small. */
const handledAs = (piece: Piece, shop: Shop): Handled => {
  const printed = shop.stocks[piece.stock]?.press != null;
  const bare: Piece = { ...piece, artwork: null, slots: [] };
  const small = cautionsForPieces([{ piece: bare, printed }]).some(({ rule }) => rule === "caution.small-parts");
  return { piece: small ? bare : { ...bare, parts: [], lines: [] }, printed };
};

/** The findings of reading, and those about the pictures and texts of whatever could be read. */
export const lookOver = async (
  { shop, pieces, orders, kits, pictures, findings }: Read,
  effort: Effort,
  work: Work,
): Promise<readonly Finding[]> => {
  if (!shop) return findings;
  const found = await lookAt(pieces, shop, effort, work);
  const articles = articlesOf(orders, kits);
  const words = await setSlots(articles, shop, pictures, work);
  const { findings: unreadable } = await setAddresses(orders, kits, shop, work);
  return [...findings, ...found, ...words.findings, ...tooManySheets(articles, shop), ...unreadable];
};

/** What is wrong with the pictures and fonts of some pieces, and with their places on a sheet. */
const lookAt = async (pieces: readonly Piece[], shop: Shop, effort: Effort, work: Work): Promise<Finding[]> => {
  const prepared = await preparePieces(pieces, shop, "findings", work);
  const fonts = await inLanes(pieces, lanesFor(pieces.length), (piece) => work.openers.checkFonts(piece, work.signal));
  const ready = prepared.flatMap(({ value }) => (value ? [value] : []));
  return [
    ...prepared.flatMap((p) => p.findings),
    ...fonts.flat(),
    ...obstructed(ready, shop, effort),
    ...machineFaults(ready, shop),
  ];
};
