import { composed } from "./words/composed.ts";
import { type OrderForm, orderForm } from "./forms/order-form.ts";
import { badName, badPath, badText } from "./guard.ts";
import type { Kit } from "./kit.ts";
import type { Order, OrderLine, Wording } from "./order.ts";
import { type Answer, type Finding, hasErrors, type Place } from "./problem.ts";
import { readForm } from "./read-form.ts";
import { say } from "./say.ts";

/** What orders are held against: the slots of every kit that could be read, and the names of those that could not. */
export interface KitsOnHand {
  readonly kits: readonly { readonly kit: string; readonly pieces: readonly Pick<Kit["pieces"][number], "slots">[] }[];
  /** Kits that are there but have faults: an order for one of them is reported so instead of as unknown. */
  readonly atFault?: readonly string[];
}

/** All orders, or every fault of them; and the orders that hold even then, those at fault with what is sound in them. */
export interface OrdersAnswer extends Answer<readonly Order[]> {
  readonly orders: readonly Order[];
}

/** What orders must know of a slot, over all pieces that have it. */
interface SlotFacts {
  readonly required: boolean;
  readonly kind: "text" | "picture";
  /** Line ends may stand in its text. */
  readonly breaks: boolean;
  /** It prints the copy's number. */
  readonly counts: boolean;
}
type Slots = ReadonlyMap<string, SlotFacts>;

const slotsOf = (kit: KitsOnHand["kits"][number]): Slots => {
  const slots = new Map<string, SlotFacts>();
  for (const piece of kit.pieces)
    for (const slot of piece.slots) {
      const before = slots.get(slot.slot);
      slots.set(slot.slot, {
        required: before?.required === true || slot.required === true,
        kind: slot.kind === "picture" ? "picture" : "text",
        breaks: (before?.breaks ?? true) && slot.kind === "text" && (slot.lines ?? 1) > 1,
        counts: (before?.counts ?? true) && slot.kind === "text" && slot.count !== undefined,
      });
    }
  return slots;
};

/** Copies by the slot they share a fault in, so that a hundred copies are one finding. */
const gather = (into: Map<string, number[]>, slot: string, copy: number): void => {
  const copies = into.get(slot);
  if (copies) copies.push(copy);
  else into.set(slot, [copy]);
};

type Said = NonNullable<OrderForm["lines"][number]["texts"]>[number];

const wordingOf = (texts: Said): Wording => {
  const wording: Record<string, Wording[string]> = Object.create(null) as Record<string, Wording[string]>;
  for (const slot of Object.keys(texts).sort()) {
    const said = texts[slot] as Said[string];
    wording[slot.normalize("NFC")] =
      typeof said === "string"
        ? composed(said)
        : {
            file: said.file,
            ...(said.crop === undefined ? {} : { crop: said.crop }),
            ...(said.sha256 === undefined ? {} : { sha256: said.sha256.toLowerCase() }),
          };
  }
  return wording;
};

const judgedTexts = (line: OrderForm["lines"][number], slots: Slots, where: Place): Finding[] => {
  const findings: Finding[] = [];
  const unknown = new Map<string, number[]>();
  const without = new Map<string, number[]>();
  const counted = new Map<string, number[]>();
  const otherKind = new Map<string, number[]>();
  const asked = [...slots].filter(([, { counts }]) => !counts);
  if (line.texts && line.texts.length !== line.quantity)
    findings.push(say("texts-count", where, { quantity: line.quantity, texts: line.texts.length }));
  for (const [i, texts] of (line.texts ?? []).entries()) {
    const copy = i + 1;
    const named = new Map(Object.entries(texts).map(([slot, text]) => [slot.normalize("NFC"), text]));
    for (const [slot, said] of named) {
      const facts = slots.get(slot);
      if (!facts) gather(unknown, slot, copy);
      else if (facts.counts) gather(counted, slot, copy);
      // An empty text is how an order says that a picture's place stays blank.
      else if ((typeof said === "string") === (facts.kind === "picture") && said !== "") gather(otherKind, slot, copy);
      findings.push(...judgedWords(said, facts?.breaks === true, copy, slot, { ...where, slot, copy }));
    }
    for (const [slot, { required }] of asked) {
      const said = named.get(slot);
      if (said === undefined || (required && typeof said === "string" && said.trim() === ""))
        gather(without, slot, copy);
    }
  }
  if (!line.texts && asked.length > 0) {
    // A line with no texts at all is a plain order of the kit; slots that must be filled object to it.
    const every = Array.from({ length: Math.min(line.quantity, 100_000) }, (_, i) => i + 1);
    for (const [slot, { required }] of asked) if (required) without.set(slot, every);
    const blank = asked.filter(([, { required }]) => !required).map(([slot]) => slot);
    if (blank.length > 0) findings.push(say("slots-blank", where, { slots: blank, quantity: line.quantity }));
  }
  for (const [slot, copies] of unknown)
    findings.push(say("slot-unknown", { ...where, slot }, { slot, copies, known: [...slots.keys()] }));
  for (const [slot, copies] of counted) findings.push(say("slot-counts", { ...where, slot }, { slot, copies }));
  for (const [slot, copies] of otherKind) {
    const wanted = slots.get(slot)?.kind ?? "text";
    findings.push(say("slot-other-kind", { ...where, slot }, { slot, copies, wanted }));
  }
  for (const [slot, copies] of without) {
    const required = slots.get(slot)?.required === true;
    findings.push(say("slot-without-text", { ...where, slot }, { slot, copies, required }));
  }
  return findings;
};

/** The texts and pictures of a copy that have no fault of their own. */
const soundTexts = (texts: Said, slots: Slots): Said =>
  Object.fromEntries(
    Object.entries(texts).filter(([slot, said]) => {
      const facts = slots.get(slot.normalize("NFC"));
      if (!facts || facts.counts || (typeof said === "string") === (facts.kind === "picture")) return false;
      return judgedWords(said, facts.breaks, 1, slot, {}).length === 0;
    }),
  );

/** What is wrong with a text or a picture's path and crop, whatever slot it is for. */
const judgedWords = (
  said: Said[string],
  breaks: boolean,
  copy: number,
  slot: string,
  where: Place,
): readonly Finding[] => {
  if (typeof said === "string") {
    const why = badText(breaks ? said.replace(/\r?\n/g, " ") : said);
    return why ? [say("text-unprintable", where, { slot, copy, why })] : [];
  }
  const why = badPath(said.file)?.replace("the kit's folder", "the order's folder");
  const [x = 0, y = 0, width = 1, height = 1] = said.crop ?? [];
  return [
    ...(why ? [say("picture-outside", where, { path: said.file, copy, why })] : []),
    ...(x + width > 1.000_001 || y + height > 1.000_001 ? [say("picture-crop", where, { copy })] : []),
  ];
};

const readOrder = (
  text: unknown,
  file: string,
  hand: ReadonlyMap<string, Slots>,
  atFault: ReadonlySet<string>,
): Answer<Order> & { readonly sound?: Order } => {
  const form = readForm(orderForm, text, { file });
  if (!form.value) return { findings: form.findings };
  const order = form.value.order.normalize("NFC");
  const where: Place = { order, file };
  const findings: Finding[] = [...form.findings];
  const why = badName(order);
  if (why) findings.push(say("name-bad", where, { noun: "order", name: order, why }));
  const { due, to } = form.value;
  const orderOf = (lines: readonly OrderLine[]): Order => ({
    order,
    ...(due ? { due } : {}),
    ...(to ? { to } : {}),
    lines,
  });
  const sound: OrderLine[] = [];
  const lines = form.value.lines.map((line, i): OrderLine => {
    const kit = line.kit.normalize("NFC");
    const at: Place = { ...where, line: i + 1, kit };
    const slots = hand.get(kit);
    if (slots) {
      findings.push(...judgedTexts(line, slots, at));
      const texts = line.texts?.slice(0, line.quantity).map((copy) => wordingOf(soundTexts(copy, slots)));
      sound.push({ kit, quantity: line.quantity, ...(texts ? { texts } : {}) });
    } else if (atFault.has(kit)) findings.push(say("kit-at-fault", at, { kit }));
    else findings.push(say("kit-unknown", at, { kit, known: [...hand.keys(), ...atFault] }));
    return { kit, quantity: line.quantity, ...(line.texts ? { texts: line.texts.map(wordingOf) } : {}) };
  });
  if (!hasErrors(findings)) return { findings, value: orderOf(lines) };
  // Lines keep their numbers, so an order is tried whole or not at all.
  return why || sound.length < lines.length ? { findings } : { findings, sound: orderOf(sound) };
};

/**
 * Orders as their files describe them, held against the kits on hand: the only maker of an `Order`. The same order twice
 * with the same content is one order; with other content it is a finding. Texts come back in Unicode NFC.
 * @param files the order files in the caller's order; `text` is the JSON text or the value made of it
 * @returns every order, or every fault of all files at once (and what of the orders has none); never throws
 */
export const readOrders = (
  files: readonly { readonly file: string; readonly text: unknown }[],
  hand: KitsOnHand,
): OrdersAnswer => {
  const slots = new Map(hand.kits.map((kit) => [kit.kit, slotsOf(kit)]));
  const atFault = new Set(hand.atFault ?? []);
  const findings: Finding[] = [];
  const seen = new Map<string, { readonly content: string; readonly file: string }>();
  const orders: Order[] = [];
  for (const { file, text } of files) {
    const answer = readOrder(text, file, slots, atFault);
    findings.push(...answer.findings);
    if (answer.sound && !seen.has(answer.sound.order)) orders.push(answer.sound);
    if (!answer.value) continue;
    const content = JSON.stringify(answer.value);
    const before = seen.get(answer.value.order);
    if (!before) {
      seen.set(answer.value.order, { content, file });
      orders.push(answer.value);
    } else if (before.content !== content)
      findings.push(
        say("order-twice", { order: answer.value.order, file }, { order: answer.value.order, first: before.file }),
      );
  }
  return hasErrors(findings) ? { findings, orders } : { findings, orders, value: orders };
};
