import { type KitForm, kitForm } from "./forms/kit-form.ts";
import { badName } from "./guard.ts";
import type { Kit, Piece } from "./kit.ts";
import { ledger } from "./ledger.ts";
import { type Answer, type Finding, hasErrors, type Place } from "./problem.ts";
import { readForm } from "./read-form.ts";
import { type ReadFile, readPiece } from "./read-piece.ts";
import { say } from "./say.ts";

const FILE = "kit.json";

/** A kit as it is handed in: the name of its folder, the text of its kit.json, and a way to its files. */
export interface KitSource {
  readonly folder: string;
  /** The text of kit.json, or the value made of it. */
  readonly text: unknown;
  readonly read: ReadFile;
}

/** Names as parts of file names, and no piece twice; capital letters do not tell files apart everywhere. */
const judgedNames = (form: KitForm, kit: string, folder: string): Finding[] => {
  const findings: Finding[] = [];
  const judge = (noun: string, name: string, where: Place): void => {
    const why = badName(name);
    if (why) findings.push(say("name-bad", { kit, file: FILE, ...where }, { noun, name, why }));
  };
  judge("kit", kit, { field: "kit" });
  if (kit !== folder.normalize("NFC"))
    findings.push(say("kit-folder", { kit, file: FILE, field: "kit" }, { kit, folder }));
  const pieces = new Map<string, string[]>();
  for (const [i, piece] of form.pieces.entries()) {
    judge("piece", piece.piece, { field: `pieces[${i}].piece` });
    judge("stock", piece.stock, { piece: piece.piece, field: `pieces[${i}].stock` });
    for (const [k, slot] of piece.slots.entries())
      judge("slot", slot.slot, { piece: piece.piece, field: `pieces[${i}].slots[${k}].slot` });
    const key = piece.piece.normalize("NFC").toLowerCase();
    pieces.set(key, [...(pieces.get(key) ?? []), piece.piece]);
  }
  for (const [name = "", ...more] of pieces.values())
    if (more.length > 0)
      findings.push(
        say("name-twice", { kit, piece: name, file: FILE }, { noun: "piece", name, times: more.length + 1 }),
      );
  return findings;
};

/**
 * A kit as its kit.json and its files describe it: the only maker of a `Kit`. Never opens anything itself: files come through
 * `read`, which is asked only for paths that stay inside the kit's folder by their spelling (links are the caller's to refuse).
 * @returns the kit in micrometres, or every fault at once; rejects only when `read` does
 */
export const readKit = async ({ folder, text, read }: KitSource): Promise<Answer<Kit>> => {
  const form = readForm(kitForm, text, { kit: folder, file: FILE });
  if (!form.value) return { findings: form.findings };
  const kit = form.value.kit.normalize("NFC");
  const findings: Finding[] = [...form.findings, ...judgedNames(form.value, kit, folder)];
  const opened = new Map<string, Promise<Uint8Array | undefined>>();
  // A font that ten slots name is read once, and its bytes are one array.
  const once: ReadFile = (path) => {
    const before = opened.get(path);
    if (before) return before;
    const bytes = read(path);
    opened.set(path, bytes);
    return bytes;
  };
  const pieces: Piece[] = [];
  for (const [i, pieceForm] of form.value.pieces.entries()) {
    const told = ledger({ kit, piece: pieceForm.piece.normalize("NFC") });
    const piece = await readPiece(pieceForm, { name: kit, fonts: form.value.fonts ?? [] }, `pieces[${i}]`, once, told);
    findings.push(...told.findings());
    if (piece) pieces.push(piece);
  }
  if (hasErrors(findings)) return { findings };
  return { findings, value: { kit, title: form.value.title ?? kit, pieces } };
};
