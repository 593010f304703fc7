import { quoted, inFigures } from "../numbers.ts";
import { error, type Words, warning } from "./sentence.ts";

/** What can be wrong with the lines, slots and artwork of a piece. Lengths in millimetres. */
export interface PieceFacts {
  "operation-unknown": { readonly operation: string };
  "selector-bad": { readonly selector: string; readonly why: string };
  "selector-finds-nothing": { readonly selector: string; readonly near: readonly string[] };
  "lines-empty": { readonly selector: string; readonly elements: number };
  "line-two-operations": { readonly element: string; readonly operations: readonly string[] };
  "line-hidden": { readonly element: string; readonly by: string };
  "line-clipped": { readonly element: string; readonly by: string };
  "line-not-a-shape": { readonly element: string };
  "contour-open": {
    readonly gap: number;
    readonly from: readonly [number, number];
    readonly to: readonly [number, number];
  };
  "contour-nearly-closed": { readonly gap: number };
  "contour-crosses-itself": { readonly times: number };
  "contours-cross": { readonly times: number };
  "contour-tiny": { readonly width: number; readonly height: number };
  "cut-expanded-stroke": { readonly width: number };
  "cuts-nearly-equal": { readonly apart: number };
  "cut-dashed": { readonly element: string; readonly dashes: string };
  "line-unseen": { readonly element: string };
  "die-line-prints": { readonly element: string; readonly width: number };
  "opening-outside": { readonly area: number };
  "cut-outside": { readonly by: number };
  "line-retraced": { readonly length: number; readonly operation: string };
  "line-doubled": {
    readonly length: number;
    readonly operations: readonly [string, string];
    readonly dropped: boolean;
  };
  "crease-outside": { readonly by: number; readonly length: number };
  "perforation-outside": { readonly by: number; readonly length: number };
  "partial-cut-outside": { readonly by: number; readonly length: number };
  "outline-missing": { readonly cuts: number };
  "back-text-mirrored": { readonly seen: "front" | "back" };
  "artwork-empty": { readonly selector: string };
  "artwork-missing": { readonly file: string };
  "artwork-unknown": { readonly file: string; readonly kind: string | undefined };
  "slot-outside": { readonly by: number; readonly wholly: boolean };
  "slot-too-near": { readonly distance: number; readonly safe: number; readonly operation: string };
  "slot-two-kinds": { readonly kinds: readonly string[] };
  "slot-shape": { readonly selector: string; readonly found: number };
  "slot-field-idle": { readonly slot: string; readonly kind: string; readonly fields: readonly string[] };
  "slot-sizes": { readonly size: number; readonly leastSize: number };
}

const at = (p: readonly [number, number]): string => `(${inFigures(p[0])}, ${inFigures(p[1])})`;

const outside = (what: string) => (facts: { readonly by: number; readonly length: number }) =>
  error(
    `A ${what} runs outside the piece for ${inFigures(facts.length)} mm, by up to ${inFigures(facts.by)} mm.`,
    "End it at the outline or at the opening: beyond it would mark the neighbour.",
  );

export const PIECE_WORDS: Words<PieceFacts> = {
  "operation-unknown": ({ operation }) =>
    warning(
      `lines names ${quoted(operation)}, which is no operation here; its elements stay artwork.`,
      "Operations are cutting, partialCutting, creasing and perforating.",
    ),
  "selector-bad": ({ selector, why }) =>
    error(`The selector ${quoted(selector)} is not understood: ${why}.`, "Write a CSS selector, like #cut or .crease."),
  "selector-finds-nothing": ({ selector, near }) =>
    error(
      `The selector ${quoted(selector)} finds nothing in the drawing.`,
      near.length > 0
        ? `The drawing has ${near.join(", ")}.`
        : "Correct the selector or name the element in the drawing.",
    ),
  "lines-empty": ({ selector, elements }) =>
    error(
      `The selector ${quoted(selector)} finds ${elements} ${elements === 1 ? "element" : "elements"}, but no line is drawn by ${elements === 1 ? "it" : "them"}.`,
      "Draw the lines on that layer, or take the operation out of lines.",
    ),
  "line-two-operations": ({ element, operations }) =>
    error(
      `${element} is selected for ${operations.join(" and for ")}.`,
      "Let each element be found by the selector of one operation only.",
    ),
  "line-hidden": ({ element, by }) =>
    error(
      `${element} is selected as a line but hidden (${by}); a hidden line is not worked.`,
      "Show it, delete it, or let the selector not find it.",
    ),
  "line-clipped": ({ element, by }) =>
    error(
      `${element} is selected as a line but clipped or masked (${by}); a line is worked whole or not at all.`,
      "Release the clip or mask from the line layer.",
    ),
  "line-not-a-shape": ({ element }) =>
    error(
      `${element} is selected as a line but draws no line.`,
      "Turn it into paths, or let the selector not find it.",
    ),
  "contour-open": ({ gap, from, to }) =>
    error(
      `A cutting contour is open: its ends at ${at(from)} and ${at(to)} are ${inFigures(gap)} mm apart.`,
      "Join the two ends in the drawing. Ends up to 0.1 mm apart are joined for you.",
    ),
  "contour-nearly-closed": ({ gap }) =>
    warning(`Ends of a contour ${inFigures(gap)} mm apart were joined.`, "Nothing to do if they were meant to meet."),
  "contour-crosses-itself": ({ times }) =>
    error(
      `A contour crosses itself ${times === 1 ? "once" : `at ${times} places`}.`,
      "Redraw the contour there so that it goes round once.",
    ),
  "contours-cross": ({ times }) =>
    error(
      `Two cutting contours cross ${times === 1 ? "once" : `at ${times} places`}.`,
      "Move them apart or unite them into one contour.",
    ),
  "contour-tiny": ({ width, height }) =>
    warning(
      `A contour is only ${inFigures(width)} x ${inFigures(height)} mm.`,
      "If it is a stray click, delete it; a blade needs about 3 mm for a hole.",
    ),
  "cut-expanded-stroke": ({ width }) =>
    error(
      `A cut line was drawn as the outline of its stroke: two contours, ${inFigures(width)} mm apart all the way round. Both would be cut.`,
      `Keep one line, the middle of the two: draw the stroke as a path again, or delete the inner contour and move the outer one inwards by ${inFigures(width / 2)} mm.`,
    ),
  "cuts-nearly-equal": ({ apart }) =>
    error(
      `Two cutting lines run along each other, ${inFigures(apart)} mm apart: the blade would go twice and tear the paper between them.`,
      "Delete one of the two, or draw both exactly in one place: then the copy is left out.",
    ),
  "cut-dashed": ({ element, dashes }) =>
    warning(
      `${element} has a dashed stroke (${dashes}) but is selected for cutting: it is cut through from end to end.`,
      "If it is a crease or a perforation, move it to that layer; else draw its stroke solid.",
    ),
  "line-unseen": ({ element }) =>
    warning(
      `${element} is worked as a line, but nobody sees it in the drawing: it has neither stroke nor fill, as the other lines here have.`,
      `Some programs put such a box around every shape. Let the selector find only what is meant, by its colour for instance: ${quoted("[stroke='#ff0000']")}; or give it a stroke.`,
    ),
  "die-line-prints": ({ element, width }) =>
    warning(
      `${element} in the artwork is a stroke of ${inFigures(width)} mm that runs along the cut: it would be printed at the edge of the piece.`,
      "If it is a copy of the cutting line, delete it or take it out of the artwork's layer.",
    ),
  "opening-outside": ({ area }) =>
    error(
      `A contour of ${inFigures(area)} mm2 lies inside an opening, where there is no paper.`,
      "Delete it, or make it a piece of its own.",
    ),
  "cut-outside": ({ by }) =>
    error(
      `An open cut runs outside the piece by ${inFigures(by)} mm.`,
      "A slit lies inside the outline; a contour is closed. Close it or end it at the outline.",
    ),
  "line-doubled": ({ length, operations: [one, two], dropped }) => {
    const who = one === two ? `Two ${one} lines lie` : `A ${one} line and a ${two} line lie`;
    const what = `${who} on each other for ${inFigures(length)} mm.`;
    if (dropped) return warning(`${what} The second was left out.`, "Delete the copy in the drawing when convenient.");
    return (one === "cutting" && two === "cutting" ? error : warning)(
      what,
      "The tools would go there twice: delete one of the two, move them apart or unite them into one contour.",
    );
  },
  "line-retraced": ({ length, operation }) =>
    warning(
      `A ${operation} line runs back on itself for ${inFigures(length)} mm: the tool goes there twice.`,
      "Delete the way back in the drawing.",
    ),
  "crease-outside": outside("crease"),
  "perforation-outside": outside("perforation"),
  "partial-cut-outside": outside("partial cut"),
  "outline-missing": ({ cuts }) =>
    error(
      cuts === 0
        ? "The piece has no cutting line, so it has no outline."
        : `None of the ${cuts} cutting lines is a closed contour, so the piece has no outline.`,
      "Give lines.cutting a selector that finds a closed contour around the piece.",
    ),
  "artwork-empty": ({ selector }) =>
    error(
      `The artwork selector ${quoted(selector)} finds elements, but nothing that prints.`,
      "Select the printed layer, or write null for an unprinted piece.",
    ),
  "artwork-missing": ({ file }) =>
    error(
      `The artwork file ${quoted(file)} is not in the kit.`,
      "Put the file into the kit's folder or correct the name (capital letters count).",
    ),
  "artwork-unknown": ({ file, kind }) =>
    error(
      kind === undefined
        ? `The artwork file ${quoted(file)} is none of SVG, PDF, PNG, JPEG, TIFF, WebP, AVIF.`
        : `The artwork file ${quoted(file)} is ${kind}, which is not printed from.`,
      "Export it as SVG, PDF, PNG, JPEG or TIFF.",
    ),
  "back-text-mirrored": ({ seen }) =>
    warning(
      "Text on the back will read mirrored when the piece is turned over.",
      seen === "front"
        ? 'Write "seen": "back" for the back if it is drawn as its reader sees it, or mirror the text in the drawing.'
        : 'Leave out "seen": "back" if it is drawn as seen through the front, or do not mirror the text in the drawing.',
    ),
  "slot-outside": ({ by, wholly }) =>
    (wholly ? error : warning)(
      wholly
        ? "The slot's box lies wholly outside the piece or over its openings."
        : `The slot's box reaches ${inFigures(by)} mm outside the piece; a text that would be cut is refused when it is set.`,
      "Move the box inside the outline and off the openings; x and y are measured from the drawing's top-left corner.",
    ),
  "slot-too-near": ({ distance, safe, operation }) =>
    warning(
      `The slot's box comes within ${inFigures(distance)} mm of a ${operation} line; safe is ${inFigures(safe)} mm.`,
      "Make the box smaller or move it. A text that really comes too near is an error when it is set.",
    ),
  "slot-two-kinds": ({ kinds }) =>
    error(
      `The slot is to hold ${kinds.join(" and ")} at once.`,
      "Make it two slots: one holds a text, a number, a picture or a code.",
    ),
  "slot-shape": ({ selector, found }) =>
    error(
      found === 0
        ? `The selector ${quoted(selector)} finds no closed contour to clip the picture to.`
        : `The selector ${quoted(selector)} finds ${found} contours; a picture is clipped to one.`,
      "Name one closed shape of the drawing, or leave out shape: then the box is the frame.",
    ),
  "slot-field-idle": ({ slot, kind, fields }) =>
    warning(
      `The slot ${quoted(slot)} holds ${kind}; its ${fields.join(", ")} ${fields.length === 1 ? "is" : "are"} not used.`,
      "Take the fields out, or make it a slot of the other kind.",
    ),
  "slot-sizes": ({ size, leastSize }) =>
    error(`leastSize ${inFigures(leastSize)} pt is larger than size ${inFigures(size)} pt.`, "Exchange the two."),
};
