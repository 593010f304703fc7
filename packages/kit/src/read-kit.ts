import { checkFitInBreaths, stockIn } from "./check-kit.ts";
import { type RoomOf, withinMargins } from "./checks/fit/fit-check.ts";
import { kitForm } from "./forms/kit-form.ts";
import { badName, badTitle } from "./guard.ts";
import type { Assembly, Kit, Piece } from "./kit.ts";
import { ledger } from "./ledger.ts";
import { type Answer, type Finding, hasErrors, type Place } from "./problem.ts";
import { readForm } from "./read-form.ts";
import { openPiece } from "./open-piece.ts";
import type { OpenPiece } from "./piece-request.ts";
import type { ReadFile } from "./file-of.ts";
import { type OpenAssembly, readAssembly } from "./read-assembly.ts";
import { readJoins } from "./read-joins.ts";
import { say } from "./say.ts";
import type { Shop } from "./shop.ts";
import { type Formed, soundPieces } from "./sound-pieces.ts";

const FILE = "kit.json";

/** A kit as it is handed in: the name of its folder, the text of its kit.json, and a way to its files. */
export interface KitSource {
  readonly folder: string;
  /** The text of kit.json, or the value made of it. */
  readonly text: unknown;
  readonly read: ReadFile;
  /** Who opens the pieces; left out, they are opened here. Files are then asked for as often as pieces name them. */
  readonly open?: OpenPiece;
  /** Who opens the designer's assembly pages; left out, the kit comes without them. */
  readonly openAssembly?: OpenAssembly;
}

/** Who is to make the kit: every piece is then held against its stock as well. */
export interface Maker {
  readonly shop: Shop;
  /** Where pieces may lie on a sheet; left out, wherever press and cutter reach. */
  readonly roomOf?: RoomOf;
}

/** A kit, or every fault of it; and its pieces that have none of their own, worth a look at their pictures even then. */
export interface KitAnswer extends Answer<Kit> {
  readonly pieces: readonly Piece[];
  /** All pieces whose drawings could be read, those at fault among them: to show faults at their places, never to be made. */
  readonly drawn: readonly Piece[];
}

/** Names as parts of file names, and no piece twice; capital letters do not tell files apart everywhere. */
const judgedNames = ({ form, at }: Formed, kit: string, folder: string): Finding[] => {
  const findings: Finding[] = [];
  const judge = (noun: string, name: string, where: Place): void => {
    const why = badName(name);
    if (why) findings.push(say("name-bad", { kit, file: FILE, ...where }, { noun, name, why }));
  };
  judge("kit", kit, { field: "kit" });
  if (kit !== folder.normalize("NFC"))
    findings.push(say("kit-folder", { kit, file: FILE, field: "kit" }, { kit, folder }));
  const badly = form.title === undefined ? undefined : badTitle(form.title);
  if (badly)
    findings.push(
      say("title-bad", { kit, file: FILE, field: "title" }, { noun: "kit", title: form.title ?? "", why: badly }),
    );
  const pieces = new Map<string, string[]>();
  for (const [i, piece] of form.pieces.entries()) {
    const field = `pieces[${at[i]}]`;
    judge("piece", piece.piece, { field: `${field}.piece` });
    judge("stock", piece.stock, { piece: piece.piece, field: `${field}.stock` });
    for (const [k, slot] of piece.slots.entries())
      judge("slot", slot.slot, { piece: piece.piece, field: `${field}.slots[${k}].slot` });
    for (const [k, slot] of (piece.back?.slots ?? []).entries())
      judge("slot", slot.slot, { piece: piece.piece, field: `${field}.back.slots[${k}].slot` });
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

/** A file that ten slots name is read once, and its bytes are one array. */
const readOnce = (read: ReadFile): ReadFile => {
  const opened = new Map<string, ReturnType<ReadFile>>();
  return (path) => {
    const bytes = opened.get(path) ?? read(path);
    opened.set(path, bytes);
    return bytes;
  };
};

/**
 * A kit as its kit.json and its files describe it: the only maker of a `Kit`. Never opens anything itself: files come through
 * `read`, which is asked only for paths that stay inside the kit's folder by their spelling (links are the caller's to refuse).
 * @param maker left out, the kit is judged by itself
 * @returns the kit in micrometres, or every fault at once; rejects only when `read` does
 */
export const readKit = async (
  { folder, text, read, open, openAssembly }: KitSource,
  maker?: Maker,
): Promise<KitAnswer> => {
  const whole = readForm(kitForm, text, { kit: folder, file: FILE });
  const formed = whole.value ? { form: whole.value, at: whole.value.pieces.map((_, i) => i) } : soundPieces(text);
  if (!formed) return { findings: whole.findings, pieces: [], drawn: [] };
  const { form, at } = formed;
  const kit = form.kit.normalize("NFC");
  const findings: Finding[] = [...whole.findings, ...judgedNames(formed, kit, folder)];
  const files = open ? read : readOnce(read);
  const all: Piece[] = [];
  const sound: Piece[] = [];
  const ask = (i: number): ReturnType<OpenPiece> | undefined => {
    const piece = form.pieces[i];
    if (!piece) return undefined;
    const request = { form: piece, kit: { name: kit, fonts: form.fonts ?? [] }, field: `pieces[${at[i]}]` };
    const asked = (open ?? openPiece)(request, files);
    // Who asked may have failed before it listens.
    asked.catch(() => undefined);
    return asked;
  };
  let asked = ask(0);
  for (const [i, pieceForm] of form.pieces.entries()) {
    const report = ledger({ kit, piece: pieceForm.piece.normalize("NFC") });
    const stock = maker && stockIn(maker.shop, pieceForm.stock, report);
    const { piece, findings: met } = (await asked) ?? { findings: [] };
    // While this one is held against its stock, the next is opened: one after the other, so that files are asked for in one sequence.
    asked = ask(i + 1);
    report.add(met);
    if (piece) all.push(piece);
    if (piece && !hasErrors(report.findings())) {
      sound.push(piece);
      if (stock) await checkFitInBreaths(piece, stock, report, maker.roomOf ?? withinMargins);
    }
    findings.push(...report.findings());
  }
  // Of a form at fault not all pieces are known.
  const { joins, findings: off } = readJoins(whole.value ? (form.joins ?? []) : [], form, all);
  findings.push(...off);
  const file = whole.value?.assembly;
  const steps = file === undefined ? { findings: [] } : await readAssembly(kit, file, files, openAssembly);
  findings.push(...steps.findings);
  if (hasErrors(findings)) return { findings, pieces: sound, drawn: all };
  const assembly: Assembly | undefined = steps.value;
  const value = {
    kit,
    title: form.title ?? kit,
    pieces: all,
    ...(joins.length > 0 ? { joins } : {}),
    ...(assembly ? { assembly } : {}),
  };
  return { findings, pieces: sound, drawn: all, value };
};
