import { mm, toMm } from "@kitforme/geometry";
import type { KitForm } from "./forms/kit-form.ts";
import type { Join, JoinEnd, Piece } from "./kit.ts";
import type { Finding } from "./problem.ts";
import { say } from "./say.ts";

/**
 * The joins of a kit in micrometres, and those that name no piece of it or lie off a piece's drawing.
 * @param pieces those that could be opened: whether a place lies off the drawing of another is not known
 */
export const readJoins = (
  forms: NonNullable<KitForm["joins"]>,
  form: KitForm,
  pieces: readonly Piece[],
): { readonly joins: readonly Join[]; readonly findings: readonly Finding[] } => {
  const kit = form.kit.normalize("NFC");
  const names = new Set(form.pieces.map(({ piece }) => piece.normalize("NFC")));
  const opened = new Map(pieces.map((piece) => [piece.piece, piece]));
  const findings: Finding[] = [];
  const read = (tab: string, end: { piece: string; at: [number, number] }, field: string): JoinEnd => {
    const piece = end.piece.normalize("NFC");
    const at = { x: mm(end.at[0]), y: mm(end.at[1]) };
    const where = { kit, file: "kit.json" };
    const size = opened.get(piece)?.size;
    if (!names.has(piece))
      findings.push(
        say("join-piece-unknown", { ...where, field: `${field}.piece` }, { tab, piece, known: [...names] }),
      );
    else if (size && (at.x < 0 || at.y < 0 || at.x > size.width || at.y > size.height))
      findings.push(
        say(
          "join-outside",
          { ...where, piece, field: `${field}.at`, at: end.at },
          { tab, piece, width: toMm(size.width), height: toMm(size.height) },
        ),
      );
    return { piece, at };
  };
  const joins = forms.map((join, i) => ({
    tab: join.tab,
    ...read(join.tab, join, `joins[${i}]`),
    into: read(join.tab, join.into, `joins[${i}].into`),
  }));
  return { joins, findings };
};
