import { quoted, inFigures } from "../numbers.ts";
import { error, type Words, warning } from "./sentence.ts";

/** What can be wrong with the text of a JSON file before its meaning is looked at. */
export interface FormFacts {
  "json-broken": { readonly what: string };
  "field-wrong": { readonly field: string; readonly what: string; readonly hint: string };
  "field-misspelt": {
    readonly field: string;
    readonly written: string;
    readonly meant: string;
    readonly given: boolean;
  };
  "field-unknown": { readonly field: string; readonly written: string; readonly known: readonly string[] };
  "field-twice": { readonly field: string; readonly lines: readonly [number, number] };
  "name-bad": { readonly noun: string; readonly name: string; readonly why: string };
  "title-bad": { readonly noun: string; readonly title: string; readonly why: string };
  "name-twice": { readonly noun: string; readonly name: string; readonly times: number };
  "path-outside-kit": { readonly field: string; readonly path: string; readonly why: string };
  "file-missing": { readonly field: string; readonly path: string };
  "file-too-large": { readonly path: string; readonly bytes: number; readonly most: number };
  "assembly-no-pdf": { readonly file: string; readonly kind: string | undefined };
  "join-piece-unknown": { readonly tab: string; readonly piece: string; readonly known: readonly string[] };
  "join-outside": { readonly tab: string; readonly piece: string; readonly width: number; readonly height: number };
  "kit-folder": { readonly kit: string; readonly folder: string };
  "kit-missing": { readonly folder: string };
  "kit-twice": { readonly kit: string; readonly folders: readonly string[] };
}

export const FORM_WORDS: Words<FormFacts> = {
  "json-broken": ({ what }) =>
    error(`This is not JSON: ${what}.`, "Open the file in an editor that checks JSON and correct the place named."),
  "field-wrong": ({ field, what, hint }) => error(`${field || "The file"}: ${what}.`, hint),
  "field-misspelt": ({ field, written, meant, given }) =>
    warning(
      `${field}: ${quoted(written)} is not a field that is read here; ${quoted(meant)} is${given ? ", and is given as well" : ", and is not given"}.`,
      `If ${quoted(meant)} was meant, correct the name, else take the field away: nothing reads it.`,
    ),
  "field-unknown": ({ field, written, known }) =>
    warning(
      `${field}: ${quoted(written)} is not a field that is read here.`,
      `Take it away, or write one of the fields that are read here: ${known.filter((name) => name !== "$schema").join(", ")}.`,
    ),
  "field-twice": ({ field, lines: [one, two] }) =>
    error(
      `${field} is given twice, ${one === two ? `both times in line ${one}` : `in lines ${one} and ${two}`}.`,
      "Keep one of the two: which of them was meant nobody can tell.",
    ),
  "name-bad": ({ noun, name, why }) =>
    error(
      `The ${noun} name ${quoted(name)} ${why}.`,
      "Names become parts of file names: use letters, digits, spaces inside, hyphens, dots inside and underscores.",
    ),
  "title-bad": ({ noun, title, why }) =>
    error(
      `The title ${quoted(title)} of the ${noun} ${why}.`,
      "Titles are printed on papers and shown on screens: type it again with visible characters.",
    ),
  "name-twice": ({ noun, name, times }) =>
    error(`The ${noun} name ${quoted(name)} is used ${times} times.`, `Give every ${noun} a name of its own.`),
  "path-outside-kit": ({ field, path, why }) =>
    error(
      `${field}: the path ${quoted(path)} ${why}; it was not opened.`,
      "Name a file inside the kit's folder, with forward slashes, like fonts/Name.ttf.",
    ),
  "file-missing": ({ field, path }) =>
    error(
      `${field}: there is no file ${quoted(path)} in the kit.`,
      "Put the file into the kit's folder or correct the name (capital letters count).",
    ),
  "file-too-large": ({ path, bytes, most }) =>
    error(
      `The file ${quoted(path)} has ${bytes} bytes; at most ${most} are read.`,
      "Split the drawing or place large pictures as files of their own.",
    ),
  "kit-missing": ({ folder }) =>
    error(`The folder ${quoted(folder)} holds no kit.json.`, "Name the folder of a kit, the one its kit.json lies in."),
  "kit-twice": ({ kit, folders }) =>
    error(
      `${folders.length} folders hold a kit that calls itself ${quoted(kit)}: ${folders.join(", ")}.`,
      "Give each kit a name of its own in its kit.json, or take the folders away that are not meant.",
    ),
  "assembly-no-pdf": ({ file, kind }) =>
    error(
      `The assembly pages ${quoted(file)} are no PDF${kind === undefined ? "" : `, but ${kind}`}.`,
      "Export them as PDF.",
    ),
  "join-piece-unknown": ({ tab, piece, known }) =>
    error(
      `The join ${quoted(tab)} names the piece ${quoted(piece)}, which the kit does not have.`,
      `Name one of its pieces: ${known.slice(0, 20).join(", ")}.`,
    ),
  "join-outside": ({ tab, piece, width, height }) =>
    error(
      `The join ${quoted(tab)} lies off the drawing of the piece ${quoted(piece)}, which is ${inFigures(width)} x ${inFigures(height)} mm.`,
      "Give x and y in millimetres from the drawing's top-left corner, y down.",
    ),
  "kit-folder": ({ kit, folder }) =>
    warning(
      `The kit calls itself ${quoted(kit)}, its folder is ${quoted(folder)}.`,
      "Orders use the name in kit.json; give the folder the same name to avoid mistakes.",
    ),
};
