import { type Flaw, flawsPage, type FlawedPiece, previewBase, writeFlaws } from "@kitforme/files";
import { type Finding, type Piece, placesOf } from "@kitforme/kit";
import type { PreparedPiece } from "@kitforme/prepress";
import { obstructed } from "../obstructed.ts";
import { hasNoPlace } from "../read-all.ts";
import { sortFindings } from "../sort-findings.ts";
import type { Opened } from "./opened.ts";

/** Every finding of a kit in pictures. */
export interface Flaws {
  /** One page that shows all of it; needs no other file and no network. */
  readonly html: Uint8Array;
  /** PNG bytes of each piece that has findings and could be drawn, its sentences below it. */
  readonly pictures: readonly { readonly piece: string; readonly png: Uint8Array }[];
  /** Their numbers in the pictures are their places in this list, from 1. */
  readonly findings: readonly Finding[];
}

/** Large enough that a mark says where it is, whatever the size of the piece. */
const SIZE = { resolution: 300, most: 1200 } as const;

/** Finds all that is wrong with a kit's pieces, pictures and fonts, and draws it at its place. */
export const flawsOf = async (opened: Opened, only: string | undefined): Promise<Flaws> => {
  const { kit, shop, sound, drawn, openers } = opened;
  const found = [...opened.found];
  const pictured = new Map<Piece, PreparedPiece>();
  for (const piece of drawn) {
    const press = shop.stocks[piece.stock]?.press ?? null;
    const bare: PreparedPiece = { piece, reach: piece.parts, layers: [], bleed: null };
    // A piece that is to be on no sheet may be as large as a wall: its picture stays shut, as in `check`.
    const shut = hasNoPlace(piece, opened.found);
    const { value, findings } = shut
      ? { value: bare, findings: [] }
      : await openers.prepare(piece, press, "all", undefined);
    pictured.set(piece, value ?? bare);
    // Of a piece that is at fault only its picture is wanted: what else is found follows from what is reported already.
    if (!sound.includes(piece)) continue;
    found.push(...findings, ...(await openers.checkFonts(piece, undefined)));
    if (value) found.push(...obstructed([value], shop, "normal"));
  }
  const all = sortFindings(found).filter((f) => only === undefined || about(f, only) || !namesPiece(f));
  const flaws = all.map((finding, i): Flaw => ({ finding, number: i + 1 }));
  const names = [...new Set([...drawn.map(({ piece }) => piece), ...all.flatMap(piecesOf)])].filter(
    (name) => only === undefined || name === only,
  );
  const pictures: { piece: string; png: Uint8Array }[] = [];
  const pieces: FlawedPiece[] = [];
  for (const name of names) {
    const own = flaws.filter(({ finding }) => about(finding, name));
    const piece = drawn.find((p) => p.piece === name);
    const prepared = piece && pictured.get(piece);
    if (own.length === 0 || !prepared) {
      pieces.push({ piece: name, flaws: own });
      continue;
    }
    const base = await previewBase(prepared, shop.stocks[prepared.piece.stock]?.press ?? null, SIZE);
    const { marked, lettered } = await writeFlaws(base, own);
    pictures.push({ piece: name, png: lettered });
    pieces.push({ piece: name, flaws: own, picture: marked });
  }
  const rest = flaws.filter(({ finding }) => !namesPiece(finding));
  const html = new TextEncoder().encode(flawsPage({ kit, pieces, rest }));
  return { html, pictures, findings: all };
};

const piecesOf = (finding: Finding): string[] => [
  ...new Set(placesOf(finding).flatMap(({ piece }) => (piece === undefined ? [] : [piece]))),
];
const namesPiece = (finding: Finding): boolean => piecesOf(finding).length > 0;
const about = (finding: Finding, piece: string): boolean => piecesOf(finding).includes(piece);
