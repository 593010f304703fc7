import { error, note, quoted, sayer, warning, type Words } from "@kitforme/kit/findings";

/** What can be wrong with a kit's assembly pages. Pages count from 1. */
export interface AssemblyFacts {
  "assembly-unreadable": { readonly what: string; readonly page?: number | undefined };
  "assembly-encrypted": object;
  "assembly-too-long": { readonly pages: number; readonly most: number };
  "assembly-font-missing": { readonly fonts: readonly string[] };
  "assembly-form-blank": { readonly fields: readonly string[] };
  "assembly-hidden-layers": { readonly layers: readonly string[] };
}

const some = (names: readonly string[]): string =>
  `${names.slice(0, 8).map(quoted).join(", ")}${names.length > 8 ? ` and ${names.length - 8} more` : ""}`;

const WORDS: Words<AssemblyFacts> = {
  "assembly-unreadable": ({ what, page }) =>
    error(
      `The assembly pages cannot be used: ${page === undefined ? "" : `page ${page}: `}${what}`,
      "Export the PDF again, and compare its size with the original's after it was sent",
    ),
  "assembly-encrypted": () => error("The assembly pages are encrypted", "Save them without password and permissions"),
  "assembly-too-long": ({ pages, most }) =>
    error(
      `There are ${pages} assembly pages; at most ${most} are taken`,
      "Leave out what whoever assembles does not need, or put several steps on a page",
    ),
  "assembly-font-missing": ({ fonts }) =>
    warning(
      `Fonts of the assembly pages are not embedded, and printers set others in their place: ${some(fonts)}`,
      "Embed all fonts, and export again",
    ),
  "assembly-form-blank": ({ fields }) =>
    warning(
      `Form fields of the assembly pages have a value but no appearance of it and stay blank: ${some(fields)}`,
      "Flatten the form in the program that filled it in, and export again",
    ),
  "assembly-hidden-layers": ({ layers }) =>
    note(
      `Hidden layers of the assembly pages are left out: ${some(layers)}`,
      "Make a layer visible if it is meant to be seen, and export again",
    ),
};

/** Makes a finding about assembly pages. */
export const sayAssembly = sayer(WORDS);
