import { error, quoted, sayer, type Words } from "@kitforme/kit";

/** What can be wrong with what a preview is asked for. */
export interface PreviewFacts {
  "preview-no-kit": { readonly kit: string; readonly known: readonly string[] };
  "preview-no-piece": { readonly piece: string; readonly known: readonly string[] };
  "preview-piece-at-fault": { readonly piece: string };
  "preview-no-slot": { readonly slot: string; readonly known: readonly string[] };
  "preview-not-text": { readonly slot: string };
  "copy-unreadable": { readonly why: string };
}

const listed = (names: readonly string[], none: string): string =>
  names.length === 0 ? none : names.slice(0, 24).map(quoted).join(", ") + (names.length > 24 ? " and more" : "");

const PREVIEW_WORDS: Words<PreviewFacts> = {
  "preview-no-kit": ({ kit, known }) =>
    error(`There is no kit ${quoted(kit)}.`, `Kits on hand: ${listed(known, "none")}.`),
  "preview-no-piece": ({ piece, known }) =>
    error(`The kit has no piece ${quoted(piece)}.`, `Its pieces are ${listed(known, "none that could be read")}.`),
  "preview-piece-at-fault": ({ piece }) =>
    error(`The piece ${quoted(piece)} cannot be shown: it has errors.`, "Correct what the other findings say of it."),
  "preview-no-slot": ({ slot, known }) =>
    error(`The piece has no slot ${quoted(slot)}.`, `Its slots are ${listed(known, "none")}.`),
  "preview-not-text": ({ slot }) =>
    error(`The slot ${quoted(slot)} takes a picture, no text.`, "Ask for the preview of a copy with that picture."),
  "copy-unreadable": ({ why }) =>
    error(
      `The copy's words cannot be read: ${why}.`,
      'Give them as JSON by the names of the slots, as in {"name": "Aino"}.',
    ),
};

export const sayPreview = sayer(PREVIEW_WORDS);
