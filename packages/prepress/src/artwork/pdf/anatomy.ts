import type { PDFArray, PDFDict, PDFName, PDFRef } from "../../pdf-lib.ts";
import type { Operation } from "./content.ts";

/** One content stream with the resources its names mean. */
export interface Scope {
  readonly resources: PDFDict;
  /** Without what hidden layers paint. */
  readonly content: Uint8Array;
  /** Other than what is stored: something hidden was taken out. */
  readonly changed: boolean;
  readonly operations: readonly Operation[];
  /** Where it lies; absent for the page itself. */
  readonly ref?: PDFRef;
  /** It begins with colours of its own, black; forms and letters go on in the colour they are met in. */
  readonly begins: boolean;
}

export interface Anatomy {
  readonly scopes: readonly Scope[];
  /** Why the page cannot be taken over as it is; empty when it can. */
  readonly obstacles: ReadonlySet<string>;
  /** What is damaged; empty when nothing is. */
  readonly faults: ReadonlySet<string>;
  /** Fonts that letters are set in and that are not embedded. */
  readonly fontsMissing: ReadonlySet<string>;
  /** Names of the spot inks that are chosen anywhere. */
  readonly spots: ReadonlySet<string>;
  /** Device colour families met anywhere; grey of soft masks is not counted. */
  readonly devices: ReadonlySet<"rgb" | "cmyk" | "grey">;
  /** Colour families that are calibrated or have a profile; Lab counts as RGB. */
  readonly profiled: ReadonlySet<"rgb" | "cmyk">;
  /** Grey spaces that are calibrated or have a profile. */
  readonly greys: ReadonlySet<PDFArray>;
  /** Colours other than plain solid ones: pictures, shadings, patterns, named spaces. */
  readonly mixed: boolean;
  /** Constant alpha or picture masks. */
  readonly transparent: boolean;
  /** Blend modes other than Normal, or soft masks drawn by a group: their look depends on the space they mix in. */
  readonly blends: boolean;
  /** Transparency groups; `rgb` when they mix in RGB. */
  readonly groups: readonly { readonly dict: PDFDict; readonly rgb: boolean }[];
  /** A soft mask is drawn with what the page itself paints too. */
  readonly masksShare: boolean;
  /** Pictures inside content streams that bring colour spaces of their own. */
  readonly inlinePictures: boolean;
  /** Every place that names a colour space. */
  readonly slots: readonly { readonly owner: PDFDict; readonly key: PDFName }[];
}
