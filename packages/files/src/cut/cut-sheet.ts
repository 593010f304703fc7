import type { Cutter } from "@kitforme/kit";
import type { Sheet } from "@kitforme/sheet";

/** What a cut file is written from: a finished sheet, or one read back and fitted to its print. Micrometres of the sheet. */
export interface CutSheet extends Pick<Sheet, "job" | "sheet" | "of" | "width" | "height" | "marks" | "paths"> {
  readonly stock: { readonly cutter: Pick<Cutter, "name" | "tools" | "axes"> };
}
