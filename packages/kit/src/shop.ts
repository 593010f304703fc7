import type { Um } from "@kitforme/geometry";
import type { Operation } from "./kit.ts";

export interface Margins {
  readonly top: Um;
  readonly right: Um;
  readonly bottom: Um;
  readonly left: Um;
}

export interface Press {
  readonly name: string;
  /** What the machine cannot print. */
  readonly margins: Margins;
  /** Pixels per inch for whatever has to be rastered. */
  readonly resolution: number;
  readonly bleed: Um;
  readonly colour: "cmyk" | "rgb" | "grey";
  /** How far the print may lie from where it should. */
  readonly register: Um;
}

export interface Cutter {
  readonly name: string;
  readonly formats: readonly ("svg" | "dxf" | "hpgl")[];
  /** How far a cut may land from where it should. */
  readonly tolerance: Um;
  /** Least distance between the bleeds of two pieces; between the cut contours of unprinted pieces. */
  readonly clearance: Um;
  /** What the machine cannot reach. */
  readonly margins: Margins;
  readonly marks: { readonly shape: "disc" | "square" | "cross"; readonly size: Um; readonly clear: Um };
  readonly tools: Readonly<Partial<Record<Operation, { readonly pen: number }>>>;
}

export interface Stock {
  readonly stock: string;
  readonly title: string;
  /** Sheet sizes on hand, the first is preferred. Width x height as the sheet lies. */
  readonly sheets: readonly { readonly width: Um; readonly height: Um }[];
  readonly caliper?: Um;
  /** `long`: grain along the longer side of the sheet. */
  readonly grain?: "long" | "short";
  readonly press: Press | null;
  readonly cutter: Cutter;
}

export interface Shop {
  readonly stocks: Readonly<Record<string, Stock>>;
  /** Relative cost of one more sheet and of one more distinct layout. */
  readonly setup: { readonly sheetChange: number; readonly newLayout: number };
  /** Overs for spoilage: `sheets` more per layout and a `share` of the run; never for personalised pieces. */
  readonly overs: { readonly sheets: number; readonly share: number };
}
