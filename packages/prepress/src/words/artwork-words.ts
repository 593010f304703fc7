import { error, note, quoted, sayer, inFigures, warning, type Words } from "@kitforme/kit/findings";

type Pair = readonly [number, number];

/** What can be wrong with a piece's artwork, by the rule that finds it. Lengths in millimetres, inks in percent. */
export interface ArtworkFacts {
  /** Damaged, cut off, or of a kind that is not read. `at`: bytes from the file's start. */
  "artwork-unreadable": {
    readonly what: string;
    readonly at?: number | undefined;
    readonly remedy?: string | undefined;
  };
  "artwork-oversized": { readonly pixels: Pair; readonly most: number; readonly box?: Pair };
  /** Nothing of it lies where the piece is. */
  "artwork-blank": { readonly what: string };
  /** Stretched on one axis by so many percent. */
  "artwork-stretched": { readonly what: string; readonly size: Pair; readonly percent: number; readonly down: boolean };
  "artwork-more-pages": { readonly what: string; readonly pages: number };
  "artwork-missing-page": { readonly page: number; readonly pages: number };
  "artwork-page-empty": { readonly box: string };
  "artwork-encrypted": object;
  "artwork-hidden-layers": { readonly layers: readonly string[] };
  "artwork-live-text": { readonly fonts: readonly string[] };
  "artwork-rasterised": { readonly resolution: number; readonly reasons: readonly string[] };
  "artwork-inks-changed": { readonly why: string };
  "artwork-spots": { readonly spots: readonly string[] };
  /** `as`: inks of full strength, shares from 0 to 1. */
  "artwork-spots-converted": {
    readonly spots: readonly string[];
    readonly as: ReadonlyMap<string, readonly number[]>;
    readonly over: boolean;
  };
  "artwork-tool-spot": { readonly spots: readonly string[] };
  "artwork-transparent": { readonly inks: boolean };
  "artwork-grey-curve": { readonly middle: number };
  "artwork-annotations": { readonly drawn: readonly string[] };
  "artwork-form-blank": { readonly fields: readonly string[] };
  "artwork-line-thin": { readonly width: number; readonly times: number };
  "artwork-white-overprints": { readonly times: number; readonly what: string };
  "artwork-box-missing": { readonly from: string };
  "ink-over-limit": { readonly ink: number; readonly limit: number; readonly area: number };
  "resolution-low": {
    readonly what: string;
    readonly pixels: Pair;
    readonly size: Pair;
    readonly ppi: Pair;
    readonly refuse: number;
    readonly warn: number;
    readonly wanted: Pair;
    readonly resolution: number;
    readonly refused: boolean;
  };
}

const some = (names: readonly string[]): string =>
  `${names.slice(0, 8).map(quoted).join(", ")}${names.length > 8 ? ` and ${names.length - 8} more` : ""}`;
const times = (n: number): string => (n === 1 ? "once" : `${n} times`);

export const ARTWORK_WORDS: Words<ArtworkFacts> = {
  "artwork-unreadable": ({ what, at, remedy }) =>
    error(
      `The artwork cannot be used: ${what}${at === undefined ? "" : ` (at byte ${at})`}`,
      remedy ??
        "It is damaged or cut off: export it again, by another program if that does not help, and compare its size with the original's after it was sent",
    ),
  "artwork-oversized": ({ pixels, most, box }) =>
    error(
      `${box ? `${inFigures(box[0])} x ${inFigures(box[1])} mm are ` : ""}${pixels[0]} x ${pixels[1]} pixels; at most ${most / 1e6} million are opened`,
      box ? "Check the artwork's box" : "Scale it to 300 to 600 ppi at the size it is printed",
    ),
  "artwork-blank": ({ what }) => error(`No part of the ${what} lies on the piece`, "Check the artwork's box"),
  "artwork-stretched": ({ what, size, percent, down }) =>
    warning(
      `${what} fill a box of ${inFigures(size[0])} x ${inFigures(size[1])} mm: stretched by ${percent.toFixed(1)} % ${down ? "down the page" : "across"}`,
      "Give the box the proportions of the picture",
    ),
  "artwork-more-pages": ({ what, pages }) =>
    warning(
      `The ${what} has ${pages} pages; the first is printed`,
      `Hand in one page${what === "PDF" ? ', or name it: "page" of the artwork' : ""}`,
    ),
  "artwork-missing-page": ({ page, pages }) =>
    error(
      pages === 0 ? "The PDF has no page" : `The artwork names page ${page}; the PDF has ${pages}`,
      pages === 0 ? "Export it again" : 'Correct "page" of the artwork',
    ),
  "artwork-page-empty": ({ box }) =>
    error(`The page's ${box} has no area: nothing of it can be shown`, "Export the page again with its true size"),
  "artwork-encrypted": () => error("The PDF is encrypted", "Save it without password and permissions"),
  "artwork-hidden-layers": ({ layers }) =>
    warning(
      `Hidden layers are not printed: ${some(layers)}`,
      "Delete what is not meant to be printed, and export again",
    ),
  "artwork-live-text": ({ fonts }) =>
    warning(
      `Fonts are not embedded and others are set in their place: ${some(fonts)}`,
      "Embed all fonts, or convert text to outlines",
    ),
  "artwork-rasterised": ({ resolution, reasons }) =>
    note(
      `The page is printed as pixels of ${resolution} ppi: ${reasons.join("; ")}`,
      "Export it as PDF/X-4 to keep it as vectors",
    ),
  "artwork-inks-changed": ({ why }) =>
    warning(
      `The page's colours are taken by way of RGB, so its inks are not those it was made with: ${why}`,
      "Convert all colours to CMYK before export, or hand in a picture in CMYK",
    ),
  "artwork-tool-spot": ({ spots }) =>
    warning(
      `By ${spots.length === 1 ? "its name the ink" : "their names the inks"} ${spots.map(quoted).join(", ")} ${spots.length === 1 ? "is" : "are"} for a cutting or creasing tool, but in the artwork it would be printed.`,
      "Take the die line out of the artwork's file; the piece's drawing has the lines that are cut.",
    ),
  "artwork-spots": ({ spots }) =>
    note(
      `${spots.length === 1 ? "A spot colour is" : `${spots.length} spot colours are`} used: ${some(spots)}`,
      "Nothing to do if the press has them; else convert them to CMYK before export",
    ),
  "artwork-spots-converted": ({ spots, as, over }) => {
    const told = spots.slice(0, 8).map((spot) => {
      const inks = as.get(spot)?.map((ink) => Math.round(100 * ink));
      return inks ? `${quoted(spot)} (C${inks[0]} M${inks[1]} Y${inks[2]} K${inks[3]})` : quoted(spot);
    });
    const more = spots.length > 8 ? ` and ${spots.length - 8} more` : "";
    return (over ? warning : note)(
      `${spots.length === 1 ? "A spot colour is" : `${spots.length} spot colours are`} printed as process inks, as the press asks: ${told.join(", ")}${more}${over ? "; where it is set to overprint it mixes otherwise than a spot ink would" : ""}`,
      over
        ? "Look at the proof; flatten what overprints before export"
        : "Look at the proof; a colour that must match its swatch needs the spot ink itself",
    );
  },
  "artwork-grey-curve": ({ middle }) =>
    warning(
      `Greys are in a colour space of their own whose middle is ${middle > 65 ? "lighter" : "darker"} than usual (L* ${Math.round(middle)}); black ink prints them with the values of the file, 50 % near L* 65`,
      "Look at the proof; convert them to plain grey if they look otherwise",
    ),
  "artwork-transparent": ({ inks }) =>
    note(
      `The page holds live transparency: it is mixed in ${inks ? "the press's own colours" : "RGB, as the page was made, and then brought to the press's colours"}`,
      "Look at the proof; flatten the transparency if it looks otherwise",
    ),
  "artwork-annotations": ({ drawn }) =>
    warning(
      `The page carries form fields or comments that print: ${some(drawn)}`,
      "Delete the comments or flatten the form if they are not meant to be printed",
    ),
  "artwork-form-blank": ({ fields }) =>
    error(
      `Form fields have a value but no appearance of it: ${some(fields)}`,
      "Flatten the form in the program that filled it in, and export again",
    ),
  "artwork-line-thin": ({ width, times: n }) =>
    warning(
      width === 0
        ? `${n === 1 ? "A line without width is drawn" : `Lines thinner than 0.1 mm are drawn ${times(n)}, the thinnest without width`}: it prints as thin as the machine can`
        : `Lines as thin as ${inFigures(Math.round(width * 1000) / 1000)} mm are drawn ${times(n)}; below 0.1 mm they may break or vanish`,
      "Draw lines at least 0.1 mm (0.25 pt) wide",
    ),
  "artwork-white-overprints": ({ times: n, what }) =>
    error(
      `White is set to overprint ${times(n)} (${what}): it vanishes on the press, what lies under it prints`,
      "Set white to knock out (overprint off), and export again",
    ),
  "artwork-box-missing": ({ from }) =>
    warning(
      `The artwork is to be taken from the page's ${from} box, which the PDF does not have; its crop box was taken`,
      `Export it with a ${from} box, or write "from": "crop"`,
    ),
  "ink-over-limit": ({ ink, limit, area }) =>
    error(
      `The artwork lays ${inFigures(Math.round(ink))} % of ink over ${inFigures(Math.round(area * 10) / 10)} mm2; the press takes ${limit} %`,
      "Convert the artwork with the press's profile, or lighten cyan, magenta and yellow there",
    ),
  "resolution-low": ({ what, pixels, size, ppi, refuse, warn, wanted, resolution, refused }) =>
    (refused ? error : warning)(
      `${what}${pixels.join(" x ")} pixels over ${inFigures(size[0])} x ${inFigures(size[1])} mm are ` +
        `${ppi.map((one) => one.toFixed(0)).join(" x ")} ppi; below ${warn} ppi it shows, below ${refuse} ppi it is refused`,
      `Hand in at least ${wanted.join(" x ")} pixels for ${resolution} ppi, or place it smaller`,
    ),
};

/** Makes a finding about artwork. */
export const sayArtwork = sayer(ARTWORK_WORDS);
