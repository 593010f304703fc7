import { quoted, inFigures } from "../numbers.ts";
import { error, note, type Words, warning } from "./sentence.ts";

type Pair = readonly [number, number];

/** What can be wrong with a drawing before any line of it is judged. Lengths in millimetres. */
export interface DrawingFacts {
  "drawing-broken": { readonly what: string };
  "drawing-too-large": { readonly what: string; readonly most: number };
  "doctype-refused": { readonly why: string };
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
  "colour-of-screen": {
    readonly element: string;
    readonly property: string;
    readonly value: string;
    readonly taken: string;
  };
  "colour-not-drawn": { readonly element: string; readonly property: string; readonly value: string };
  "value-not-drawn": {
    readonly element: string;
    readonly property: string;
    readonly value: string;
    readonly why?: string;
  };
  "variable-unset": { readonly element: string; readonly property: string; readonly variable: string };
  "paint-not-drawn": { readonly element: string; readonly paint: string; readonly reference: string };
  "paint-missing": { readonly element: string; readonly reference: string; readonly value: string };
  "text-flowed": { readonly element: string; readonly how: string; readonly text: string };
  "text-in-picture": { readonly name: string };
  "size-fitted": { readonly drawing: Pair; readonly size: Pair; readonly factor: number };
  "element-unknown": { readonly element: string; readonly meant: string | undefined };
  "attribute-misspelt": { readonly element: string; readonly written: string; readonly meant: string };
  "value-ignored": {
    readonly element: string;
    readonly attribute: string;
    readonly value: string;
    readonly why: string;
  };
  "reference-missing": { readonly element: string; readonly property: string; readonly reference: string };
  "text-stray": { readonly element: string; readonly text: string };
}

export const DRAWING_WORDS: Words<DrawingFacts> = {
  "drawing-broken": ({ what }) =>
    error(`The drawing cannot be read: ${what}.`, "Open the drawing where it was made and export it as SVG again."),
  "drawing-too-large": ({ what, most }) =>
    error(
      `The drawing has more than ${most} ${what}.`,
      "Simplify the drawing, or place the picture as a file of its own.",
    ),
  "doctype-refused": ({ why }) =>
    error(
      `The drawing's document type (<!DOCTYPE ...>) is not read: ${why}.`,
      "Delete the part from <!DOCTYPE to its closing >, or export as plain SVG.",
    ),
  "external-reference": ({ element, reference }) =>
    error(
      `${element} refers to ${quoted(reference)}, which is neither in the drawing nor a picture in the kit's folder.`,
      "Embed it in the drawing, or put the picture into the kit's folder beside the drawing.",
    ),
  "script-refused": ({ element }) =>
    error(`${element} holds a script; drawings with scripts are not read.`, "Export the drawing without scripts."),
  "element-refused": ({ element, why }) =>
    error(`${element} ${why}.`, "Take it out of the drawing or turn it into plain shapes."),
  "data-image-refused": ({ element, why }) =>
    error(
      `${element}: the picture ${why}.`,
      "Embed PNG, JPEG, TIFF, WebP, AVIF or SVG, or place the picture as an artwork file.",
    ),
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
      `The drawing is ${inFigures(drawing[0])} x ${inFigures(drawing[1])} mm, kit.json says ${inFigures(size[0])} x ${inFigures(size[1])} mm.${guess ? ` ${guess}` : ""}`,
      'Export the drawing in millimetres, correct size, or write "scale": "fit" where the proportions are right.',
    ),
  "size-assumed": ({ drawing }) =>
    note(
      `The drawing's size is given in pixels, read as 96 to the inch: ${inFigures(drawing[0])} x ${inFigures(drawing[1])} mm.`,
      'Give "size" in kit.json and it is checked.',
    ),
  "colour-of-screen": ({ element, property, value, taken }) =>
    note(
      `${element}: ${property} names a colour of a press (${quoted(value)}); the screen colour beside it, ${taken}, is printed.`,
      "Hand in a PDF where the inks themselves matter.",
    ),
  "colour-not-drawn": ({ element, property, value }) =>
    error(
      `${element}: the ${property} ${quoted(value)} is a kind of colour that cannot be drawn from an SVG.`,
      "Write it as #rrggbb, rgb() or hsl(), or hand in a PDF where the inks themselves matter.",
    ),
  "value-not-drawn": ({ element, property, value, why }) =>
    error(
      `${element}: ${property}: ${quoted(value)} cannot be drawn${why ? ` (${why})` : ""}; it would be left out.`,
      property === "clip-path"
        ? "Clip with a <clipPath> of the drawing, or cut the shape itself."
        : "Write the number or colour it comes to.",
    ),
  "variable-unset": ({ element, property, variable }) =>
    warning(
      `${element}: ${property} takes its value from ${quoted(variable)}, which the drawing does not set; it is left at its default.`,
      "Write the value itself, or set the variable in the drawing.",
    ),
  "paint-not-drawn": ({ element, paint, reference }) =>
    error(
      `${element} is painted with ${reference}, a ${paint}, which cannot be drawn.`,
      "Turn it into a picture or plain shapes before export.",
    ),
  "paint-missing": ({ element, reference, value }) =>
    warning(
      `${element} is painted with ${reference}, which this drawing does not define as a paint${/\)\s*\S/.test(value) ? "; its second colour is used" : "; it stays unpainted"}.`,
      "Look at the proof, or paint it anew and export again.",
    ),
  "text-flowed": ({ element, how, text }) =>
    error(
      `${element} is text that flows (${how}): ${quoted(text)}. Its lines would break elsewhere, or be missing.`,
      "Turn it into outlines, or into plain lines of text, before export.",
    ),
  "text-in-picture": ({ name }) =>
    error(
      `${name} is a drawing inside the drawing, with text still set in type, under an effect (filter, mask or clip) that makes a picture of it.`,
      "Turn that text into outlines, or take the effect off.",
    ),
  "size-fitted": ({ drawing, size, factor }) =>
    note(
      `The drawing is ${inFigures(drawing[0])} x ${inFigures(drawing[1])} mm; scaled by ${inFigures(factor)} to ${inFigures(size[0])} x ${inFigures(size[1])} mm, as "scale": "fit" says.`,
      "Nothing to do if the cut lines have the size meant.",
    ),
  "element-unknown": ({ element, meant }) =>
    warning(
      `${element} is not an SVG element${meant ? ` (${quoted(meant)} is one)` : ""}: neither it nor what is in it is drawn.`,
      "Correct its name if it is to be seen, else take it out; the file may be damaged.",
    ),
  "attribute-misspelt": ({ element, written, meant }) =>
    warning(
      `${element}: SVG has no ${quoted(written)}; it has ${quoted(meant)}, which is not given.`,
      `If ${quoted(meant)} was meant, correct the name; the file may be damaged.`,
    ),
  "value-ignored": ({ element, attribute, value, why }) =>
    warning(
      `${element}: ${attribute}=${quoted(value)} cannot be read: ${why}. ${attribute === "d" ? "It is drawn up to the fault" : "It is drawn as if that were not there"}.`,
      "Correct the value or export the drawing again; the file may be damaged.",
    ),
  "reference-missing": ({ element, property, reference }) =>
    warning(
      `${element}: its ${property} names ${quoted(reference)}, which the drawing does not have.`,
      "Look at the proof, or export the drawing again; the file may be damaged.",
    ),
  "text-stray": ({ element, text }) =>
    warning(
      `Between the elements of ${element} is text that is not drawn: ${quoted(text)}.`,
      "If it is an element that lost its bracket, correct it; else take the text out.",
    ),
};
