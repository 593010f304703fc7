import type { Um } from "@kitforme/geometry";
import type { Operation } from "./kit.ts";

/** Edges of a sheet that a machine cannot reach, as the sheet lies. */
export interface Margins {
  readonly top: Um;
  readonly right: Um;
  readonly bottom: Um;
  readonly left: Um;
}

/** Output profiles that come with kitforme: coated and uncoated white paper, offset. */
export const BUNDLED_PROFILES = ["FOGRA39", "FOGRA29"] as const;
/** The name of one, as `profile` of a press has it. */
export type BundledProfile = (typeof BUNDLED_PROFILES)[number];

/** A press as the shop has set it up. */
export interface Press {
  readonly name: string;
  /** What the machine cannot print. */
  readonly margins: Margins;
  /** Pixels per inch for whatever has to be turned into pixels. */
  readonly resolution: number;
  readonly bleed: Um;
  readonly colour: "cmyk" | "rgb" | "grey";
  /** Its ICC output profile, a file of the shop; absent: a bundled one. */
  readonly profile?: { readonly file: string; readonly bytes: Uint8Array };
  /** The bundled profile that it names in place of a file; absent with `cmyk`: FOGRA39. */
  readonly bundled?: BundledProfile;
  /** How colours beyond the press are met; left out: perceptual. Black-point compensation is always on. */
  readonly intent?: "perceptual" | "relative" | "saturation";
  /** Most ink anywhere, in percent, the sum of the plates; left out: the profile's own where known, else 300. */
  readonly inkLimit?: number;
  /** How far the print may lie from where it should, and the print of one side from that of the other. */
  readonly register: Um;
  /** 2: it prints the reverse as well, the sheet turned over its longer or its shorter edge. Left out: one side. */
  readonly sides?: 1 | 2;
  /** Left out: the longer edge. */
  readonly turn?: "long" | "short";
  /** What becomes of spot inks in artwork; left out: keep. */
  readonly spots?: "keep" | "convert";
  /** The edge that goes in first, as the page lies; left out: not known. */
  readonly feed?: "top" | "right" | "bottom" | "left";
  /** What is printed in the waste for the people at the press, where there is room. */
  readonly colourBar?: boolean;
  readonly registerTarget?: boolean;
  readonly scaleBar?: boolean;
  /** A print PDF for each sheet, one of all sheets, or both. Left out: one for each. */
  readonly files?: "single" | "whole" | "both";
}

/** Formats a cut file is written in. */
export type CutFormat = "svg" | "dxf" | "hpgl" | "pdf";

/** Where a machine counts from, for HP-GL and DXF: the sheet's corner that is 0,0, whether X and Y change places, what is added. */
export interface Axes {
  readonly origin: "lowerLeft" | "lowerRight" | "upperLeft" | "upperRight";
  readonly swap: boolean;
  readonly offset: readonly [x: number, y: number];
}

/** What a cutter's knife needs beyond the line itself. Micrometres. */
export interface KnifePath {
  /** How far a closed cut runs on past the point where it began. */
  readonly overcut: Um;
  /** How far a trailing blade's tip follows behind the axis it turns on; 0 for a tangential knife or a laser. */
  readonly bladeOffset: Um;
  /** Bridges left in the outlines. */
  readonly tabs: { readonly count: number; readonly length: Um } | null;
  /** Operations the cutter has no tool for, made as interrupted cuts: [cut, gap]. */
  readonly dash: Readonly<Partial<Record<Operation, readonly [cut: Um, gap: Um]>>>;
}

/** Speeds for the estimate, millimetres a second; `lift` in seconds for each time the tool is raised and set down. */
export interface Speed {
  readonly operations: Readonly<Partial<Record<Operation, number>>>;
  readonly travel: number;
  readonly lift: number;
}

/** A cutter as the shop has set it up: its files, its marks, its tools and how exact it is. */
export interface Cutter {
  readonly name: string;
  readonly formats: readonly CutFormat[];
  /** How far a cut may land from where it should. */
  readonly tolerance: Um;
  /** Least distance between the bleeds of two pieces. */
  readonly clearance: Um;
  /** Least distance between the cut contours of two pieces of unprinted stock. */
  readonly bareClearance: Um;
  /** What the machine cannot reach. */
  readonly margins: Margins;
  readonly marks: {
    readonly shape: "disc" | "square" | "cross";
    readonly size: Um;
    readonly clear: Um;
    /** More marks along each long edge, evenly between its corners. */
    readonly along: number;
  };
  /** What the blade can leave and go round: the thinnest paper, the smallest opening, the nearest corners. */
  readonly least: { readonly bridge: Um; readonly opening: Um; readonly corner: Um };
  readonly tools: Readonly<Partial<Record<Operation, { readonly pen: number }>>>;
  /** What the bed holds; a larger sheet is refused. */
  readonly table?: { readonly width: Um; readonly height: Um };
  readonly axes: Axes;
  readonly path: KnifePath;
  /** Left out: the shop gave no speeds, and no minutes are estimated. */
  readonly speed?: Speed;
}

/** A stock and the machines that it goes through. */
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

/** What a shop charges, in its currency; whatever is left out is left out of an estimate. */
export interface Prices {
  readonly currency: string;
  /** By the stock's name. */
  readonly sheet: Readonly<Record<string, number>>;
  readonly side?: number;
  readonly minute?: number;
  readonly layout?: number;
  readonly order?: number;
}

/** A shop that was read and believed: what it prints on, prints with and cuts with. Made by `readShop` only. */
export interface Shop {
  readonly stocks: Readonly<Record<string, Stock>>;
  /** Relative cost of one more sheet and of one more distinct layout. */
  readonly setup: { readonly sheetChange: number; readonly newLayout: number };
  /** Overs for spoilage: `sheets` more per layout and a `share` of the run; never for personalised pieces. */
  readonly overs: { readonly sheets: number; readonly share: number };
  readonly prices?: Prices;
  /** For addresses whose letters no other font has, as they are tried. */
  readonly fonts?: readonly { readonly file: string; readonly bytes: Uint8Array }[];
  /** How far written files are tried before a job is finished; left out: `marks`. */
  readonly proof?: "off" | "marks" | "full";
}
