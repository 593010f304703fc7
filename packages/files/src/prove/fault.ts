import { toMm } from "@kitforme/geometry";

/** What a proof found wrong with the written files of a sheet. It is a bug of ours: whatever artwork can do is met earlier, as findings. */
export interface ProofFault {
  readonly check: "page" | "mark" | "code" | "cut" | "print" | "paper" | "text";
  /** In words, without a stop. */
  readonly what: string;
  /** Micrometres of the sheet, from its lower-left corner. */
  readonly at?: { readonly x: number; readonly y: number };
}

/** How many are named; the rest are counted. */
const NAMED = 5;

/** The faults of a sheet as the message of an error. */
export const sayFaults = (name: string, faults: readonly ProofFault[]): string => {
  const said = faults.slice(0, NAMED).map(({ check, what, at }) => {
    const place = at ? ` at ${toMm(at.x).toFixed(1)}, ${toMm(at.y).toFixed(1)} mm` : "";
    return `${check}: ${what}${place}`;
  });
  const more = faults.length > NAMED ? `; and ${faults.length - NAMED} more` : "";
  return `${name} did not pass the proof of its written files: ${said.join("; ")}${more}`;
};
