import { type KitForm, kitForm, pieceForm } from "./forms/kit-form.ts";
import { parseJson } from "./parse-json.ts";

/** The form of a kit, and where each of its pieces stands in kit.json. */
export interface Formed {
  readonly form: KitForm;
  readonly at: readonly number[];
}

/** Of a kit whose form is at fault, the pieces that are not: their drawings are read all the same, so that everything is reported at once. */
export const soundPieces = (input: unknown): Formed | undefined => {
  const parsed = typeof input === "string" ? parseJson(input) : { value: input };
  const data = "value" in parsed ? parsed.value : undefined;
  const pieces = typeof data === "object" && data !== null && "pieces" in data ? data.pieces : undefined;
  if (!Array.isArray(pieces)) return undefined;
  const at = pieces.flatMap((piece: unknown, i) => (pieceForm.safeParse(piece).success ? [i] : []));
  const form = kitForm.safeParse({ ...(data as object), pieces: at.map((i) => pieces[i] as unknown) });
  return form.success ? { form: form.data, at } : undefined;
};
