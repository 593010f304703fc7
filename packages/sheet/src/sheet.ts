import type { Matrix, Path, Point, Rect, Um } from "@kitforme/geometry";
import type { Operation, Stock, Wording } from "@kitforme/kit";
import type { Ink, PreparedPiece, SetPicture, SetText } from "@kitforme/prepress";

/** A registration mark: its middle, and how it is drawn. Whole micrometres. */
export interface Mark {
  readonly at: Point<"sheet">;
  readonly shape: "disc" | "square" | "cross";
  readonly size: Um;
}

/** Whose pieces a placement makes as the run goes: numbers `first` to `last` of that piece in that order, from 1. */
export interface Serve {
  readonly order: string;
  readonly first: number;
  readonly last: number;
}

/** One piece at its place. */
export interface Placed {
  /** Number on this sheet from 1, as the proof and the docket show it. */
  readonly number: number;
  readonly prepared: PreparedPiece;
  readonly wording: Wording;
  readonly texts: readonly SetText[];
  /** Pictures of buyers, under the texts. */
  readonly pictures?: readonly SetPicture[];
  readonly turn: number;
  /** Drawing to sheet, micrometres. */
  readonly matrix: Matrix;
  readonly serves: readonly Serve[];
}

/** A line for the cutter at its place, in the order it is worked. */
export interface SheetLine {
  readonly operation: Operation;
  readonly closed: boolean;
  readonly points: Path<"sheet">;
  /** `number` of the piece it belongs to. */
  readonly placed: number;
}

/**
 * One way of a tool with the blade down, as the machine is to go it. It differs from the designer's line only where the cutter's
 * `path` asks for it: tabs, dashes, an overcut, the lead of a trailing blade.
 */
export interface ToolPath extends SheetLine {
  /** The operation whose tool does it: cutting where a missing tool is stood in for by interrupted cuts. */
  readonly tool: Operation;
}

/** What cutting one sheet takes. Millimetres and seconds. */
export interface CuttingWork {
  readonly length: Readonly<Partial<Record<Operation, number>>>;
  /** With the tool raised, from 0,0 on. */
  readonly travel: number;
  /** How often the tool is raised and set down again. */
  readonly lifts: number;
  /** Only where the cutter has speeds. Acceleration is left out: a shop that measures its machine gives mean speeds. */
  readonly seconds?: number;
}

/** A spot ink at a share of its full strength, from 0 to 1. `All` is every ink of the sheet, as PDF has it. */
export interface SpotInk {
  readonly space: "spot";
  readonly name: string;
  readonly tint: number;
}

/** What may be printed in the waste for the people at the press. */
export type WasteItem = "colourBar" | "registerTarget" | "scaleBar";

/** Filled shape of the sheet itself: code modules, slug letters. Path data in micrometres of the sheet (y up), absolute M L C Q Z. */
export interface SheetInk {
  readonly outlines: string;
  readonly ink: Ink | SpotInk;
  /** Left out: code, slug, or a frame of the back. */
  readonly item?: WasteItem;
}

/** What the press asks for in the waste of a sheet. Micrometres. */
export interface Waste {
  readonly placed: readonly { readonly item: WasteItem; readonly box: Rect }[];
  /** What the waste has no room for, with the least room that it takes. */
  readonly left: readonly { readonly item: WasteItem; readonly width: Um; readonly height: Um }[];
}

/** What the reverse of a sheet carries besides the backs of its pieces, in the space of its own page. */
export interface SheetBack {
  /** Sheet to the page of its back: left and right, or top and bottom, change places. */
  readonly matrix: Matrix;
  readonly slug: string;
  readonly inks: readonly SheetInk[];
}

/** One press sheet: everything at fixed places. After it nobody decides anything; writers only translate. */
export interface Sheet {
  readonly job: string;
  readonly sheet: number;
  readonly of: number;
  readonly stock: Stock;
  readonly width: Um;
  readonly height: Um;
  readonly run: number;
  /** Content of the sheet's code (Data Matrix). */
  readonly code: string;
  /** The slug line in words. */
  readonly slug: string;
  /** Number of the sheet whose cut files this one can share; itself when first. */
  readonly cutAs: Sheet["sheet"];
  readonly marks: readonly Mark[];
  readonly inks: readonly SheetInk[];
  /** Only where the press asks for any. */
  readonly waste?: Waste;
  readonly placed: readonly Placed[];
  /** Only where a piece has a back. */
  readonly back?: SheetBack;
  /** In working order: creases, perforations, partial cuts, cuts; openings before the outline around them. */
  readonly lines: readonly SheetLine[];
  /** The same as the machine goes them; `placed` is 0 for a cut in the waste that brings a blade into line. */
  readonly paths: readonly ToolPath[];
  /** What cutting takes. */
  readonly work: CuttingWork;
  /** Area inside the placed outlines less openings over the area of the sheet. */
  readonly yield: number;
  /** Millimetres under the blade: cutting and partialCutting. */
  readonly cutLength: number;
}
