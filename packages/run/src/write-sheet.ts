import type { CutFormat, Shop } from "@kitforme/kit";
import {
  checkPrint,
  isOutputProfile,
  type JobFile,
  type JobSheet,
  type CutBodies,
  type DrawingThreads,
  type PackedPictures,
  type ProofLayers,
  proveSheet,
  type References,
  sayBreaches,
  sayFaults,
  sheetName,
  writeCut,
  writePrint,
  writeProof,
} from "@kitforme/files";
import { outputProfile, statementOf } from "@kitforme/prepress";
import type { Sheet } from "@kitforme/sheet";

/** What sheets that are written one after the other have in common. */
export interface Writing {
  readonly pictures: PackedPictures;
  readonly references: References;
  readonly bodies: CutBodies;
  readonly layers: ProofLayers;
  /** How far the written files are tried. */
  readonly level: NonNullable<Shop["proof"]>;
}

/** Writes every file of one sheet. Files that break the checklist, or that would cut or print wrong, throw: they are a bug of ours. */
export const writeSheet = async (
  sheet: Sheet,
  job: string,
  put: (name: string, bytes: Uint8Array) => Promise<JobFile>,
  { draw }: Pick<DrawingThreads, "draw">,
  { pictures, references, bodies, layers, level }: Writing,
): Promise<JobSheet> => {
  const name = sheetName(sheet.sheet);
  const { press, cutter } = sheet.stock;
  const profile = press && outputProfile(press);
  const print = press
    ? await writePrint(sheet, { title: `Job ${job}, sheet ${sheet.sheet} of ${sheet.of}`, profile, pictures })
    : null;
  // Read back as bytes, whatever the writer meant: a file that breaks the checklist never leaves the house.
  if (print) {
    const condition = profile !== null && isOutputProfile(profile.bytes);
    const breaches = await checkPrint(print, { ...sheet, pages: sheet.back ? 2 : 1, condition });
    if (breaches.length > 0) throw new Error(sayBreaches(`${name}.print.pdf`, breaches));
  }
  const cuts: Partial<Record<CutFormat, Uint8Array>> = {};
  for (const format of cutter.formats) cuts[format] = await writeCut(sheet, format, bodies);
  const proven = level === "off" ? null : await proveSheet(sheet, { print, cuts }, level, references);
  if (proven && proven.faults.length > 0) throw new Error(sayFaults(name, proven.faults));
  const cut: Partial<Record<CutFormat, JobFile>> = {};
  for (const [format, bytes] of Object.entries(cuts))
    cut[format as CutFormat] = await put(`${name}.cut.${format}`, bytes);
  const proofOf = (side: "front" | "back"): Promise<Uint8Array> => {
    const seen = proven?.seen[side === "back" ? 1 : 0];
    return writeProof(sheet, print, { side, draw, layers, ...(seen ? { seen } : {}) });
  };
  return {
    sheet,
    files: {
      print: print && (await put(`${name}.print.pdf`, print)),
      cut,
      proof: await put(`${name}.proof.png`, await proofOf("front")),
      ...(sheet.back ? { backProof: await put(`${name}.back.proof.png`, await proofOf("back")) } : {}),
    },
    ...(proven ? { proof: proven.proof } : {}),
    ...(press
      ? {
          tolerance: statementOf({
            register: press.register,
            cutter: cutter.tolerance,
            pieces: sheet.placed.flatMap(
              ({
                prepared: {
                  piece: { kit, piece },
                  bleed,
                  back,
                },
              }) => [
                { kit, piece, bleed },
                ...(back ? [{ kit, piece, side: "back" as const, bleed: back.bleed }] : []),
              ],
            ),
          }),
        }
      : {}),
  };
};
