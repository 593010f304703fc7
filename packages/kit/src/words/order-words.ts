import { quoted } from "../numbers.ts";
import { error, note, type Words, warning } from "./sentence.ts";

/** What can be wrong with an order, against the kits it names. */
export interface OrderFacts {
  "kit-unknown": { readonly kit: string; readonly known: readonly string[] };
  "kit-at-fault": { readonly kit: string };
  "slot-unknown": { readonly slot: string; readonly copies: readonly number[]; readonly known: readonly string[] };
  "slot-without-text": { readonly slot: string; readonly copies: readonly number[]; readonly required: boolean };
  "slots-blank": { readonly slots: readonly string[]; readonly quantity: number };
  "slot-counts": { readonly slot: string; readonly copies: readonly number[] };
  "slot-other-kind": { readonly slot: string; readonly copies: readonly number[]; readonly wanted: "text" | "picture" };
  "picture-outside": { readonly path: string; readonly copy: number; readonly why: string };
  "picture-crop": { readonly copy: number };
  "texts-count": { readonly quantity: number; readonly texts: number };
  "text-unprintable": { readonly slot: string; readonly copy: number; readonly why: string };
  "job-too-large": { readonly worded: number; readonly most: number };
  "order-twice": { readonly order: string; readonly first: string };
}

const copiesTold = (copies: readonly number[]): string =>
  copies.length === 1
    ? `Copy ${copies[0]}`
    : copies.length <= 6
      ? `Copies ${copies.join(", ")}`
      : `Copies ${copies.slice(0, 5).join(", ")} and ${copies.length - 5} more`;

export const ORDER_WORDS: Words<OrderFacts> = {
  "kit-unknown": ({ kit, known }) =>
    error(
      `There is no kit ${quoted(kit)}.`,
      known.length > 0
        ? `Kits on hand: ${known.slice(0, 20).join(", ")}.`
        : "There are no kits at all: check the kits folder.",
    ),
  "kit-at-fault": ({ kit }) =>
    error(`The kit ${quoted(kit)} has faults of its own, so its pieces cannot be made.`, "Correct the kit first."),
  "slot-unknown": ({ slot, copies, known }) =>
    error(
      `${copiesTold(copies)}: the kit has no slot ${quoted(slot)}.`,
      known.length > 0 ? `Its slots are ${known.join(", ")}.` : "The kit has no slots: leave out texts.",
    ),
  "slot-without-text": ({ slot, copies, required }) =>
    (required ? error : warning)(
      `${copiesTold(copies)}: no text for the slot ${quoted(slot)}${required ? ", which must have one" : "; it stays empty"}.`,
      "Add the text, or an empty text if it shall stay empty.",
    ),
  "slots-blank": ({ slots, quantity }) =>
    note(
      `The line has no texts: ${slots.length === 1 ? "the slot" : "the slots"} ${slots.map(quoted).join(", ")} ${slots.length === 1 ? "stays" : "stay"} blank on ${quantity === 1 ? "its copy" : `all ${quantity} copies`}.`,
      "Give one entry of texts per copy if something shall stand there.",
    ),
  "slot-counts": ({ slot, copies }) =>
    warning(
      `${copiesTold(copies)}: the slot ${quoted(slot)} prints the number of the copy; the text for it is not used.`,
      "Leave it out of texts.",
    ),
  "slot-other-kind": ({ slot, copies, wanted }) =>
    error(
      wanted === "picture"
        ? `${copiesTold(copies)}: the slot ${quoted(slot)} is for a picture, and a text is given.`
        : `${copiesTold(copies)}: the slot ${quoted(slot)} is for a text, and a picture is given.`,
      wanted === "picture"
        ? 'Write { "file": "uploads/name.jpg" }, a file beside the order.'
        : "Write the text in quotation marks.",
    ),
  "picture-outside": ({ path, copy, why }) =>
    error(
      `Copy ${copy}: the picture's path ${quoted(path)} ${why}; it was not opened.`,
      "Name a file in the folder of the order or below it, with forward slashes, like uploads/7.jpg.",
    ),
  "picture-crop": ({ copy }) =>
    error(
      `Copy ${copy}: the crop reaches beyond the picture.`,
      "Crop is x, y, width and height in shares of the picture: x + width and y + height are at most 1.",
    ),
  "texts-count": ({ quantity, texts }) =>
    error(
      `${quantity} ${quantity === 1 ? "copy is" : "copies are"} ordered, but there are texts for ${texts}.`,
      "Give one entry of texts per copy, or split the line.",
    ),
  "text-unprintable": ({ slot, copy, why }) =>
    error(`Copy ${copy}: the text for ${quoted(slot)} ${why}.`, "Type the text anew without it."),
  "job-too-large": ({ worded, most }) =>
    error(
      `${worded} pieces have words of their own; at most ${most} are made in one job.`,
      "Hand the orders in as several jobs, or split a large order.",
    ),
  "order-twice": ({ order, first }) =>
    error(
      `The order ${quoted(order)} came before with other content (${first}).`,
      "Give a changed order a new name, or hand in only one of the two.",
    ),
};
