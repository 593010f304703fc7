// What is handed over so that others can prepare pieces of a job, and what comes back.
import { createHash } from "node:crypto";
import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { deserialize, serialize } from "node:v8";
import { type Artwork, hasErrors, type Piece, type Press, type Shop } from "@kitforme/kit";
import type { Prepared, PreparedPiece } from "@kitforme/prepress";
import { layWhole } from "../lay-whole.ts";
import { makeFolder } from "../make-folder.ts";
import type { Openers } from "../outside/openers.ts";
import { sealed, unsealed } from "../sealed.ts";
import { withoutInput } from "./plan.ts";

/** A piece without fonts, its artworks in files named for their hashes. */
interface LentPiece {
  readonly piece: Piece;
  readonly press: Press;
  readonly front: string | undefined;
  readonly back: string | undefined;
}

/** A prepared piece less the piece itself, which the maker has; undefined where the maker is to prepare it. */
type Part = Omit<Prepared<PreparedPiece>, "value"> & { readonly value?: Omit<PreparedPiece, "piece"> };

const nameOf = (number: number): string => `piece-${number}`;

/** Lays pieces of the list into the folder, which is made, less those that nothing is to be done for. Returns the numbers of the others. */
export const lendPieces = async (
  folder: string,
  pieces: readonly Piece[],
  numbers: readonly number[],
  shop: Shop,
  openers: Openers,
): Promise<readonly number[]> => {
  await makeFolder(folder);
  const lent = new Set<string>();
  const lend = async (artwork: Artwork | null | undefined): Promise<string | undefined> => {
    if (!artwork) return undefined;
    const bytes = artwork.kind === "drawing" ? Buffer.from(artwork.svg) : artwork.bytes;
    const hash = createHash("sha256").update(bytes).digest("hex");
    if (!lent.has(hash)) await layWhole(join(folder, hash), bytes);
    lent.add(hash);
    return hash;
  };
  const laid = [];
  for (const number of numbers) {
    const piece = pieces[number];
    const press = piece && shop.stocks[piece.stock]?.press;
    if (!press || (!piece.artwork && !piece.back?.artwork) || (await openers.keeps(piece, press))) continue;
    const [front, back] = [await lend(piece.artwork), await lend(piece.back?.artwork)];
    const task: LentPiece = { piece: withoutInput(piece), press, front, back };
    await layWhole(join(folder, nameOf(number)), serialize(task));
    laid.push(number);
  }
  return laid;
};

/** Prepares a piece that was lent, and lays what came of it. Throws when it is not there. */
export const prepareLent = async (folder: string, number: number, name: string, openers: Openers): Promise<void> => {
  const { piece, press, front, back } = deserialize(await readFile(join(folder, nameOf(number)))) as LentPiece;
  const whole = async (artwork: Artwork | null, hash: string | undefined): Promise<Artwork | null> => {
    if (!artwork || hash === undefined) return null;
    const bytes = await readFile(join(folder, hash));
    return artwork.kind === "drawing" ? { ...artwork, svg: bytes.toString() } : { ...artwork, bytes };
  };
  const given: Piece = {
    ...piece,
    artwork: await whole(piece.artwork, front),
    ...(piece.back ? { back: { ...piece.back, artwork: await whole(piece.back.artwork, back) } } : {}),
  };
  const { value, findings } = await openers.prepare(given, press, "all", undefined);
  // What is wrong with it, or was too much for this machine, is found once more by the one who answers for it.
  const part: Part | undefined = value && !hasErrors(findings) ? { findings, value: withoutPiece(value) } : undefined;
  await layWhole(join(folder, name), sealed(serialize(part)));
};

/** What another prepared; undefined when it is not there, not whole, or left to the maker. */
export const takePrepared = async (
  folder: string,
  name: string,
  piece: Piece,
  openers: Openers,
): Promise<Prepared<PreparedPiece> | undefined> => {
  const bytes = await readFile(join(folder, name)).catch(() => undefined);
  const body = bytes && unsealed(bytes);
  const part = body && (deserialize(body) as Part | undefined);
  return part?.value && { findings: part.findings, value: openers.takeOver({ ...part.value, piece }) };
};

const withoutPiece = ({ piece: _piece, ...rest }: PreparedPiece): Omit<PreparedPiece, "piece"> => rest;
