import { error, inFigures, note, quoted, sayer, type Words, warning } from "@kitforme/kit";

/** What can be wrong with a job as a whole, and with what lies beside its orders. */
export interface JobFacts {
  "remake-unfinished": object;
  "remake-no-input": object;
  "reprint-unknown": { readonly order: string; readonly job: string };
  "spoiled-unreadable": { readonly text: string };
  "spoiled-unknown": { readonly at: string; readonly sheets: number };
  "spoiled-too-many": { readonly at: string; readonly count: number; readonly run: number };
  "spoiled-over": { readonly at: string; readonly over: number };
  "nothing-to-remake": object;
  "address-letters": { readonly letters: readonly string[] };
  "address-encoded": { readonly line: string; readonly found: string; readonly meant?: string };
  "spot-clash": {
    readonly spot: string;
    /** The piece it differs from; `stock` where that is of another one, whose sheets go into the same print PDF. */
    readonly other: { readonly kit: string; readonly piece: string; readonly stock: string | null } | null;
  };
  "slot-ink": { readonly ink: number; readonly limit: number };
  "sheet-ink": { readonly ink: number; readonly limit: number; readonly sheet: number };
  "waste-full": {
    readonly item: "colourBar" | "registerTarget" | "scaleBar";
    readonly size: readonly [width: number, height: number];
    readonly sheets: readonly number[];
    readonly of: number;
  };
  "tabs-short": { readonly wanted: number; readonly found: number };
  "blade-unaligned": { readonly offset: number; readonly sheets: readonly number[]; readonly of: number };
  "cuts-shared": { readonly apart: number; readonly sheets: readonly number[]; readonly of: number };
  "picture-missing": { readonly file: string; readonly reachable: boolean };
  "picture-too-large": { readonly file: string; readonly bytes: number; readonly most: number };
  "job-too-many-sheets": {
    readonly stock: string;
    readonly pieces: number;
    readonly sheets: number;
    readonly most: number;
    /** The order that asks for the most of it, and its share of the sheets. */
    readonly order: string;
    readonly share: number;
  };
}

const JOB_WORDS: Words<JobFacts> = {
  "remake-unfinished": () =>
    error("The folder holds no job.json: it is no finished job.", "Name the folder that the job was made into."),
  "remake-no-input": () =>
    error(
      "The record of the job's input is missing or is not the one that the job wrote.",
      "Take the folder as it was made. A remake itself cannot be remade: name the first job and all spoiled pieces.",
    ),
  "reprint-unknown": ({ order, job }) =>
    error(`Job ${job} made no order ${quoted(order)}.`, "Name an order of the job; job.json lists them."),
  "spoiled-unreadable": ({ text }) =>
    error(
      `${quoted(text)} is no place of a piece.`,
      "Write sheet:number as the docket does, like 2:7; several with commas.",
    ),
  "spoiled-unknown": ({ at, sheets }) =>
    error(
      `The job has no piece at ${at}.`,
      `Its sheets are numbered from 1 to ${sheets}; the docket lists the numbers of each.`,
    ),
  "spoiled-too-many": ({ at, count, run }) =>
    error(`${count} pieces of ${at} are spoiled, and only ${run} were made.`, "Correct how often the place is named."),
  "spoiled-over": ({ at, over }) =>
    note(
      `${over === 1 ? "One piece" : `${over} pieces`} of ${at} beyond what the orders get: nobody waits for ${over === 1 ? "it" : "them"}.`,
      "Nothing to do: overs are not made anew.",
    ),
  "nothing-to-remake": () =>
    error("No spoiled piece is one that an order waits for.", "Name the places of spoiled pieces, like 2:7."),
  "address-letters": ({ letters }) =>
    warning(
      `No font at hand has letters for ${letters.map(quoted).join(", ")} of the address: the packing slip shows them as \ufffd.`,
      "Name a font that has them under fonts in shop.json, or write the address in Latin, Greek or Cyrillic letters.",
    ),
  "address-encoded": ({ line, found, meant }) =>
    warning(
      meant === undefined
        ? `The address line ${quoted(line)} goes on the packing slip with ${quoted(found)}, which a program seems to have put there.`
        : `The address line ${quoted(line)} looks as if it had been ${quoted(meant)} before a program misread it (UTF-8 taken for Windows-1252).`,
      "Compare it with what the buyer typed; correct the shop that wrote the order.",
    ),
  "spot-clash": ({ spot, other }) =>
    error(
      other
        ? `The spot ink ${quoted(spot)} is mixed differently here than in piece ${quoted(other.piece)} of kit ${quoted(other.kit)}, ${
            other.stock === null ? "on the same stock" : `on stock ${quoted(other.stock)} and in the same print PDF`
          }.`
        : `The spot ink ${quoted(spot)} is mixed in two ways in the piece's artwork.`,
      'Give the ink the same values in both files, another name in one of them, or let the press convert spot inks to process inks ("spots": "convert").',
    ),
  "slot-ink": ({ ink, limit }) =>
    error(
      `The slot's colour is ${Math.round(ink)} % of ink, and the press takes ${Math.round(limit)} %.`,
      "Use less cyan, magenta and yellow: black ink alone is right for small type.",
    ),
  "sheet-ink": ({ ink, limit, sheet }) =>
    warning(
      `Letters over artwork make ${Math.round(ink)} % of ink on sheet ${sheet}, and the press takes ${Math.round(limit)} %.`,
      "Put the text where the artwork is lighter, or give it more time to dry.",
    ),
  "waste-full": ({ item, size, sheets, of }) =>
    note(
      `The waste of ${those(sheets, of)} has no room for the ${ITEMS[item]}: it takes ${inFigures(size[0])} x ${inFigures(size[1])} mm at least, and paper around it.`,
      item === "scaleBar"
        ? "Measure between two marks, whose places are in job.json; or use a larger sheet."
        : "Judge colour and register by another sheet of the job or by its pieces; or use a larger sheet.",
    ),
  "tabs-short": ({ wanted, found }) =>
    warning(
      `${found === 0 ? "No tab finds" : found === 1 ? "Only 1 tab finds" : `Only ${found} tabs find`} a place on an outline of the piece, and the cutter is asked for ${wanted}: a tab lies at least 5 mm from corners, creases, perforations and slits.`,
      "Watch the piece while it is cut, for it may come loose; or cut this stock on a cutter without tabs.",
    ),
  "blade-unaligned": ({ offset, sheets, of }) =>
    warning(
      `The waste of ${those(sheets, of)} has no room for the short cut that brings the trailing blade into line: the first cut begins up to ${inFigures(2 * offset)} mm off its line.`,
      "Bring the blade into line by hand before the sheet is cut (X from left to right), or use a larger sheet or more clearance.",
    ),
  "cuts-shared": ({ apart, sheets, of }) =>
    warning(
      apart === 0
        ? `On ${those(sheets, of)} neighbouring pieces touch: the blade goes twice where they do, and tears the paper.`
        : `On ${those(sheets, of)} the cuts of neighbouring pieces lie ${inFigures(apart)} mm apart: no cutter keeps paper between them.`,
      "Give the cutter more clearance in shop.json (bareClearance for unprinted stock): 1 mm or more.",
    ),
  "picture-missing": ({ file, reachable }) =>
    error(
      reachable
        ? `There is no picture ${quoted(file)} beside the order.`
        : `The picture ${quoted(file)} cannot be reached: the order came without its folder.`,
      reachable
        ? "Put the file into the order's folder or correct the name (capital letters count)."
        : "Make orders with pictures by `kitforme make`, where they lie.",
    ),
  "picture-too-large": ({ file, bytes, most }) =>
    error(
      `The picture ${quoted(file)} has ${grouped(bytes)} bytes; at most ${grouped(most)} are read.`,
      "Save it as JPEG in good quality.",
    ),
  "job-too-many-sheets": ({ stock, pieces, sheets, most, order, share }) =>
    error(
      `${grouped(pieces)} pieces of stock ${quoted(stock)} need at least ${grouped(sheets)} sheets; at most ${grouped(most)} are made in one job. Order ${quoted(order)} asks for ${Math.round(share * 100)} % of them.`,
      "Check quantity in the order and perKit in the kit; make a quantity that is really meant in several jobs.",
    ),
};

const ITEMS = { colourBar: "colour bar", registerTarget: "register target", scaleBar: "scale bar" } as const;

/** Some of a job's sheets in words. */
const those = (sheets: readonly number[], of: number): string =>
  sheets.length === of
    ? of === 1
      ? "the sheet"
      : "every sheet"
    : `sheet${sheets.length === 1 ? "" : "s"} ${listed(sheets)}`;

/** Numbers of sheets; beyond eight they are counted. */
const listed = (sheets: readonly number[]): string =>
  sheets.length > 8
    ? `${sheets.slice(0, 8).join(", ")} and ${sheets.length - 8} more`
    : sheets.length > 1
      ? `${sheets.slice(0, -1).join(", ")} and ${sheets.at(-1)}`
      : `${sheets[0]}`;

/** A large count with its thousands set apart, as 833,000,000. */
const grouped = (count: number): string => String(Math.round(count)).replace(/\B(?=(?:\d{3})+$)/g, ",");

export const say = sayer(JOB_WORDS);
