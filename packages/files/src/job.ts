import { createHash } from "node:crypto";
import type { Assembly, CutFormat, Finding, Join, Order } from "@kitforme/kit";
import type { SetText, ToleranceStatement } from "@kitforme/prepress";
import type { Sheet } from "@kitforme/sheet";
import type { SheetProof } from "./prove/prove-sheet.ts";

/** A file of the job folder: enough to find it and to know it again. */
export interface JobFile {
  readonly name: string;
  readonly bytes: number;
  /** Hexadecimal. */
  readonly sha256: string;
}

/** A sheet with the files that were written for it. */
export interface JobSheet {
  readonly sheet: Sheet;
  readonly files: {
    /** Its own print PDF, or the one of all sheets where there is no other. */
    readonly print: JobFile | null;
    /** The print PDF of all sheets, where the press has one, and the sheet's first page in it, from 1. */
    readonly whole?: { readonly file: JobFile; readonly page: number };
    readonly cut: Readonly<Partial<Record<CutFormat, JobFile>>>;
    readonly proof: JobFile;
    /** Of sheets with a back. */
    readonly backProof?: JobFile;
  };
  /** Whether paper can show at a cut edge, as prepress states it in micrometres. */
  readonly tolerance?: ToleranceStatement;
  /** How its written files stood the proof; absent where the shop wants none. */
  readonly proof?: SheetProof;
}

/** A whole job, when everything but its papers and its manifest is written. */
export interface Job {
  readonly job: string;
  readonly sheets: readonly JobSheet[];
  /** The orders in full: the docket sorts pieces back into them. */
  readonly orders: readonly Order[];
  /** Lines of their addresses that the papers' own font cannot show, as outlines: by order, by number of the line from 0. */
  readonly addresses?: ReadonlyMap<string, ReadonlyMap<number, SetText>>;
  /** Titles of the kits by their names; a kit without one is shown by its name. */
  readonly titles: Readonly<Record<string, string>>;
  /** What goes into what, by kit; a kit that says nothing is left out. */
  readonly joins?: Readonly<Record<string, readonly Join[]>>;
  /** The designers' own assembly pages, by kit. */
  readonly assembly?: Readonly<Record<string, Assembly>>;
  readonly findings: readonly Finding[];
  /** What the plan of runs costs in the shop's units, and the least that any plan needs as far as known. */
  readonly plan: { readonly cost: number; readonly bound: { readonly sheets: number; readonly cost: number } };
  /** What made the bytes: package or engine to version. */
  readonly versions: Readonly<Record<string, string>>;
  /** The finished job whose spoiled pieces (sheet:number, one for each piece) this one makes anew. */
  readonly remakes?: { readonly job: string; readonly spoiled: readonly string[] };
  /** Why these orders are made together, where a queue has decided it: `closed` is the rule that decided. */
  readonly gang?: { readonly closed: string; readonly why: string };
  /** Papers of the whole job, the docket among them. */
  readonly papers?: readonly JobFile[];
}

/** The entry of a file in the manifest. */
export const jobFile = (name: string, bytes: Uint8Array): JobFile => ({
  name,
  bytes: bytes.length,
  sha256: createHash("sha256").update(bytes).digest("hex"),
});

/** Numbers of pieces that the orders get of a placement. */
export const servedBy = (serves: Sheet["placed"][number]["serves"]): number =>
  serves.reduce((sum, { first, last }) => sum + last - first + 1, 0);

/** The file that a sheet is printed from, and the page of its front where the file is of many sheets, as `job.print.pdf, page 3`. */
export const printWords = ({ print, whole }: JobSheet["files"]): string | undefined =>
  (print && (whole && whole.file === print ? `${print.name}, page ${whole.page}` : print.name)) || undefined;

/** The page of a sheet's front in the file that it is printed from, from 1. */
export const pageOf = ({ print, whole }: JobSheet["files"]): number => (whole && whole.file === print ? whole.page : 1);
