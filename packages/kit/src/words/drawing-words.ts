import { quoted, told } from "../numbers.ts";
import { error, note, type Words, warning } from "./sentence.ts";

type Pair = readonly [number, number];

/** What can be wrong with a drawing before any line of it is judged. Lengths in millimetres. */
export interface DrawingFacts {
  "drawing-broken": { readonly what: string };
  "drawing-too-large": { readonly what: string; readonly most: number };
  "doctype-refused": Record<never, never>;
  "external-reference": { readonly element: string; readonly reference: string };
  "script-refused": { readonly element: string };
  "element-refused": { readonly element: string; readonly why: string };
  "data-image-refused": { readonly element: string; readonly why: string };
  "use-refused": { readonly element: string; readonly why: string };
  "unit-unknown": { readonly element: string; readonly attribute: string; readonly value: string };
  "value-unreadable": {
    readonly element: string;
    readonly attribute: string;
    readonly value: string;
    readonly why: string;
  };
  "css-refused": { readonly element: string; readonly property: string };
  "style-unreadable": { readonly what: string };
  "stroke-not-scaling": { readonly element: string };
  "drawing-size-unknown": { readonly why: string };
  "size-disagrees": { readonly drawing: Pair; readonly size: Pair; readonly guess?: string };
  "size-assumed": { readonly drawing: Pair };
  "text-in-drawing": { readonly texts: number; readonly fonts: readonly string[] };
}

export const DRAWING_WORDS: Words<DrawingFacts> = {
  "drawing-broken": ({ what }) =>
    error(`The drawing cannot be read: ${what}.`, "Open the drawing where it was made and export it as SVG again."),
  "drawing-too-large": ({ what, most }) =>
    error(
      `The drawing has more than ${most} ${what}.`,
      "Simplify the drawing, or place the picture as a file of its own.",
    ),
  "doctype-refused": () =>
    error(
      "The drawing has a document type (<!DOCTYPE ...>), which could name other files; it is not read.",
      "Delete the part from <!DOCTYPE to its closing > , or export without it.",
    ),
  "external-reference": ({ element, reference }) =>
    error(
      `${element} refers to ${quoted(reference)} outside the drawing; nothing outside is opened.`,
      "Embed the picture or shape in the drawing, or place the picture as an artwork file.",
    ),
  "script-refused": ({ element }) =>
    error(`${element} holds a script; drawings with scripts are not read.`, "Export the drawing without scripts."),
  "element-refused": ({ element, why }) =>
    error(`${element} ${why}.`, "Take it out of the drawing or turn it into plain shapes."),
  "data-image-refused": ({ element, why }) =>
    error(`${element}: the embedded picture ${why}.`, "Embed PNG or JPEG, or place the picture as an artwork file."),
  "use-refused": ({ element, why }) => error(`${element} ${why}.`, "Correct the reference or draw the shape itself."),
  "unit-unknown": ({ element, attribute, value }) =>
    error(
      `${element}: ${attribute}=${quoted(value)} has a unit that has no fixed size here.`,
      "Use mm, cm, Q, in, pt, pc, px, em, % or plain numbers.",
    ),
  "value-unreadable": ({ element, attribute, value, why }) =>
    error(
      `${element}: ${attribute}=${quoted(value)} cannot be read: ${why}.`,
      "Correct the value or export the drawing again.",
    ),
  "css-refused": ({ element, property }) =>
    error(
      `${element}: the style property ${quoted(property)} moves or shapes it in a way that is not read here.`,
      "Write it as an attribute, or apply it in the drawing program before export.",
    ),
  "style-unreadable": ({ what }) =>
    warning(
      `A style sheet of the drawing is only partly understood: ${what}.`,
      "Look at the proof, or export with plain attributes.",
    ),
  "stroke-not-scaling": ({ element }) =>
    warning(
      `${element} asks for strokes that do not scale with the drawing; on paper their width depends on the press's resolution.`,
      "Expand these strokes, or take vector-effect out of the drawing.",
    ),
  "drawing-size-unknown": ({ why }) =>
    error(
      `The drawing has no true size: ${why}.`,
      'Give width and height in mm in the drawing, or "size" in kit.json.',
    ),
  "size-disagrees": ({ drawing, size, guess }) =>
    error(
      `The drawing is ${told(drawing[0])} x ${told(drawing[1])} mm, kit.json says ${told(size[0])} x ${told(size[1])} mm.${guess ? ` ${guess}` : ""}`,
      "Export the drawing in millimetres, or correct size.",
    ),
  "size-assumed": ({ drawing }) =>
    note(
      `The drawing's size is given in pixels, read as 96 to the inch: ${told(drawing[0])} x ${told(drawing[1])} mm.`,
      'Give "size" in kit.json and it is checked.',
    ),
  "text-in-drawing": ({ texts, fonts }) =>
    warning(
      `${texts} ${texts === 1 ? "text" : "texts"} in the artwork ${texts === 1 ? "is" : "are"} still set in type${fonts.length > 0 ? ` (${fonts.join(", ")})` : ""}; a font that is missing is replaced by another.`,
      "Turn texts into outlines before export, or make them slots.",
    ),
};
