import type { Contour, Outline, Path, Point, Rect, Um } from "@kitforme/geometry";

/** The operations of ISO 19593-1 that kitforme knows. */
export const OPERATIONS = ["creasing", "perforating", "partialCutting", "cutting"] as const;
/** What a tool does along a line: cutting, kiss-cutting, creasing, perforating. */
export type Operation = (typeof OPERATIONS)[number];

/** A line of the drawing that a tool follows, flattened to `FLATTEN_TOLERANCE`. `closed` rings do not repeat their first point. */
export interface Line {
  readonly operation: Operation;
  readonly closed: boolean;
  readonly points: Path<"drawing">;
}

/** The picture of a piece as it was handed in; bytes are checked by prepress, not here. */
export type Artwork =
  /** All of the drawing that is no line: an SVG document, root rewritten to px width/height and a viewBox of the drawing's
   * millimetres, so that 1 user unit of the root = 1 mm. `box` is the whole drawing. */
  | ({ readonly kind: "drawing"; readonly svg: string; readonly box: Rect; readonly file: string } & DrawingParts)
  | ({
      readonly kind: "file";
      readonly format: "svg" | "pdf" | "png" | "jpeg" | "tiff" | "webp" | "avif";
      readonly bytes: Uint8Array;
      readonly box: Rect;
      readonly file: string;
      /** Of a PDF: its page, counted from 1; left out, the first. */
      readonly page?: number;
      /** Of a PDF: the page box that fills `box`; left out, the trim where there is one, with the bleed around it, else the crop. */
      readonly from?: "trim" | "bleed" | "crop" | "media";
      /** Of a piece's back: from which side it is drawn to be seen. */
      readonly behind?: "front" | "back";
    } & DrawingParts);

/** What a drawing needs beside its text to be drawn, and what is to be judged in it. */
export interface DrawingParts {
  /** Font files of the kit, for text that is still set in type. */
  readonly fonts?: readonly { readonly file: string; readonly bytes: Uint8Array }[];
  /** Pictures in it, where and how large they are drawn. */
  readonly pictures?: readonly PlacedPicture[];
  /** Text still set in type, one for each `text` element of the SVG, in their order. */
  readonly texts?: readonly PlacedText[];
}

/** A text in a drawing and about where it begins, in millimetres; no place where it is never drawn by itself. */
export interface PlacedText {
  readonly name: string;
  readonly at: readonly [x: number, y: number] | undefined;
  /** The drawing itself turns it over, left for right. */
  readonly mirrored?: true;
}

/** A picture of pixels in a drawing, once for each time it is drawn. */
export interface PlacedPicture {
  /** The element, for people. */
  readonly name: string;
  /** Which of the pictures of pixels that the SVG embeds, in the order of their data, from 0. */
  readonly nth: number;
  /** Its middle, in millimetres of the drawing. */
  readonly at: readonly [x: number, y: number];
  /** Lengths of its sides as drawn. */
  readonly size: readonly [width: Um, height: Um];
}

/** A colour as written: `#rrggbb`, or cyan, magenta, yellow and black in percent. */
export type Colour = string | readonly [c: number, m: number, y: number, k: number];

interface SlotFrame {
  readonly slot: string;
  /** Where what is set must fit, drawing space. */
  readonly box: Rect;
  /** How far it stays from any cut or crease. */
  readonly safe: Um;
  /** An order that leaves it empty is at fault. */
  readonly required?: boolean;
  /** It prints on the reverse: its box lies where it is seen through the card, what is set in it reads right from behind. */
  readonly side?: "back";
}

/** A line that is painted as if it were something else; `at` in millimetres of the drawing. */
export interface PaintedLine {
  readonly element: string;
  readonly operation: Operation;
  /** The dash pattern or the fill as written. */
  readonly paint: string;
  readonly at: readonly [x: number, y: number];
}

/** A thin stroke that the drawing prints. */
export interface PrintedStroke {
  readonly element: string;
  /** Not rounded. */
  readonly width: Um;
  readonly points: Path<"drawing">;
  readonly closed: boolean;
}

/** How the drawing paints its lines and what runs along them: for the checks, nothing is made of it. */
export interface DrawnAs {
  /** Cuts with a dashed stroke. */
  readonly dashed: readonly PaintedLine[];
  /** Lines with neither stroke nor fill among others of their operation that have one. */
  readonly unseen: readonly PaintedLine[];
  /** Cuts with a fill of their own. */
  readonly filled: readonly PaintedLine[];
  readonly strokes: readonly PrintedStroke[];
}

/** A place for a text of each copy. */
export interface TextSlot extends SlotFrame {
  readonly kind: "text";
  /** Font files in the order they are tried; the bundled font comes last by itself. */
  readonly fonts: readonly { readonly file: string; readonly bytes: Uint8Array }[];
  /** The slot names no font of its own: `fonts` only serve where the bundled one has no letter. */
  readonly bundledFirst?: boolean;
  /** Type sizes in points. */
  readonly size: number;
  readonly leastSize: number;
  readonly align: "left" | "centre" | "right";
  /** Left out: middle. */
  readonly valign?: "top" | "middle" | "bottom";
  readonly colour: Colour;
  /** A line around the letters, so wide beyond them. */
  readonly outline?: { readonly colour: Colour; readonly width: Um };
  /** At most so many lines; left out, one. */
  readonly lines?: number;
  /** From baseline to baseline, in type sizes; left out, 1.2. */
  readonly leading?: number;
  /** Language of the text (BCP 47), whose own letterforms of the font are set. */
  readonly language?: string;
  /** Degrees counter-clockwise; the turned text lies inside the box. Left out, 0. */
  readonly turn?: number;
  /** The slot prints the number of the copy instead of a text of the order. */
  readonly count?: { readonly from: number; readonly digits: number };
}

/** A place for a picture of the buyer's. */
export interface PictureSlot extends SlotFrame {
  readonly kind: "picture";
  /** What it is clipped to, besides the box; null for the box alone. */
  readonly shape: Contour<"drawing"> | null;
  readonly fit: "cover" | "contain";
  /** Pixels per inch below which it is refused. */
  readonly least: number;
}

/** A place for a code of the copy's text. */
export interface CodeSlot extends SlotFrame {
  readonly kind: "code";
  readonly code: "qr" | "datamatrix";
  /** Modules of blank paper around it. */
  readonly quiet: number;
}

/** A place on a piece that each copy fills for itself: words, a buyer's picture or a code. */
export type Slot = TextSlot | PictureSlot | CodeSlot;

/** What the reverse of a piece prints. Its slots are among the piece's, with `side`. */
export interface PieceBack {
  readonly artwork: Artwork | null;
  /**
   * The artwork is drawn as a reader of the back sees it: its x is `mirror` less the x of the drawing. Left out: it lies in
   * the drawing's own space, each point exactly behind that point of the front.
   */
  readonly mirror?: Um;
}

/** One piece of a kit: its outlines, what is printed on it, and where tools work. Drawing space, whole micrometres. */
export interface Piece {
  readonly kit: string;
  readonly piece: string;
  readonly perKit: number;
  readonly stock: string;
  /** The drawing's true size. */
  readonly size: { readonly width: Um; readonly height: Um };
  /** Outlines with their openings: several are several parts that travel as one piece. */
  readonly parts: readonly Outline<"drawing">[];
  /** Every line of the piece, the cutting contours of `parts` and inner slits among them. */
  readonly lines: readonly Line[];
  readonly artwork: Artwork | null;
  /** Overrides the press's bleed. */
  readonly bleed?: Um;
  /** Artwork that stops short of the cut by no more is carried out to it and beyond; left out: 0.3 mm. */
  readonly gap?: Um;
  /** Direction the paper's grain must run in the drawing. */
  readonly grain?: "vertical" | "horizontal";
  /** Allowed turns in degrees counter-clockwise, before grain; `"any"` is free rotation. */
  readonly turns: readonly number[] | "any";
  /** How made bleed is drawn: exact nearest, or softened for photographs. */
  readonly spread: "nearest" | "soft";
  /** Of both sides. */
  readonly slots: readonly Slot[];
  readonly back?: PieceBack;
  readonly drawnAs?: DrawnAs;
}

/** A kit that was read and believed: its pieces, their artwork, lines and slots. Made by `readKit` only. */
export interface Kit {
  readonly kit: string;
  readonly title: string;
  readonly pieces: readonly Piece[];
  /** What goes into what; left out, not said. */
  readonly joins?: readonly Join[];
  /** The designer's own pages; left out, there are none, or nobody opened them. */
  readonly assembly?: Assembly;
}

/** Pages that tell how a kit is put together, as they were opened: each a PDF of its own with one page and nothing that runs. */
export interface Assembly {
  /** Relative to kit.json. */
  readonly file: string;
  readonly pages: readonly { readonly bytes: Uint8Array }[];
}

/** A place on a piece, in its drawing. */
export interface JoinEnd {
  readonly piece: string;
  readonly at: Point<"drawing">;
}

/** A tab and where it goes: on assembly sheets its letter stands at both places. */
export interface Join extends JoinEnd {
  readonly tab: string;
  readonly into: JoinEnd;
}

/** A ring of an outline: its outer contour or one of its openings. */
export type Ring = Contour<"drawing">;
