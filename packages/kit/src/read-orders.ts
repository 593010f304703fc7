import { type OrderForm, orderForm } from "./forms/order-form.ts";
import { badName, badText } from "./guard.ts";
import type { Kit } from "./kit.ts";
import type { Order, OrderLine, Wording } from "./order.ts";
import { type Answer, type Finding, hasErrors, type Place } from "./problem.ts";
import { readForm } from "./read-form.ts";
import { say } from "./say.ts";

/** What orders are held against: the slots of every kit that could be read, and the names of those that could not. */
export interface KitsOnHand {
  readonly kits: readonly { readonly kit: string; readonly pieces: readonly Pick<Kit["pieces"][number], "slots">[] }[];
  /** Kits that are there but have faults: an order for one of them is told so instead of "unknown". */
  readonly atFault?: readonly string[];
}

/** All orders, or every fault of them; and the orders that hold even then. */
export interface OrdersAnswer extends Answer<readonly Order[]> {
  readonly orders: readonly Order[];
}

/** Slot name to whether an order must fill it. */
type Slots = ReadonlyMap<string, boolean>;

const slotsOf = (kit: KitsOnHand["kits"][number]): Slots => {
  const slots = new Map<string, boolean>();
  for (const piece of kit.pieces)
    for (const slot of piece.slots) slots.set(slot.slot, (slots.get(slot.slot) ?? false) || slot.required === true);
  return slots;
};

/** Copies by the slot they share a fault in, so that a hundred copies are one finding. */
const gather = (into: Map<string, number[]>, slot: string, copy: number): void => {
  const copies = into.get(slot);
  if (copies) copies.push(copy);
  else into.set(slot, [copy]);
};

const wordingOf = (texts: Readonly<Record<string, string>>): Wording => {
  const wording: Record<string, string> = Object.create(null) as Record<string, string>;
  for (const slot of Object.keys(texts).sort())
    wording[slot.normalize("NFC")] = (texts[slot] as string).normalize("NFC");
  return wording;
};

const judgedTexts = (line: OrderForm["lines"][number], slots: Slots, where: Place): Finding[] => {
  const findings: Finding[] = [];
  const unknown = new Map<string, number[]>();
  const without = new Map<string, number[]>();
  if (line.texts && line.texts.length !== line.quantity)
    findings.push(say("texts-count", where, { quantity: line.quantity, texts: line.texts.length }));
  for (const [i, texts] of (line.texts ?? []).entries()) {
    const named = new Map(Object.entries(texts).map(([slot, text]) => [slot.normalize("NFC"), text]));
    for (const [slot, text] of named) {
      if (!slots.has(slot)) gather(unknown, slot, i + 1);
      const why = badText(text);
      if (why) findings.push(say("text-unprintable", { ...where, slot }, { slot, copy: i + 1, why }));
    }
    for (const [slot, required] of slots)
      if (!named.has(slot) || (required && named.get(slot)?.trim() === "")) gather(without, slot, i + 1);
  }
  // A line with no texts at all is a plain order of the kit; only slots that must be filled object to it.
  if (!line.texts)
    for (const [slot, required] of slots)
      if (required)
        without.set(
          slot,
          Array.from({ length: Math.min(line.quantity, 100_000) }, (_, i) => i + 1),
        );
  for (const [slot, copies] of unknown)
    findings.push(say("slot-unknown", { ...where, slot }, { slot, copies, known: [...slots.keys()] }));
  for (const [slot, copies] of without)
    findings.push(say("slot-without-text", { ...where, slot }, { slot, copies, required: slots.get(slot) === true }));
  return findings;
};

const readOrder = (
  text: unknown,
  file: string,
  hand: ReadonlyMap<string, Slots>,
  atFault: ReadonlySet<string>,
): Answer<Order> => {
  const form = readForm(orderForm, text, { file });
  if (!form.value) return { findings: form.findings };
  const order = form.value.order.normalize("NFC");
  const where: Place = { order, file };
  const findings: Finding[] = [...form.findings];
  const why = badName(order);
  if (why) findings.push(say("name-bad", where, { noun: "order", name: order, why }));
  const lines = form.value.lines.map((line, i): OrderLine => {
    const kit = line.kit.normalize("NFC");
    const at: Place = { ...where, line: i + 1, kit };
    const slots = hand.get(kit);
    if (slots) findings.push(...judgedTexts(line, slots, at));
    else if (atFault.has(kit)) findings.push(say("kit-at-fault", at, { kit }));
    else findings.push(say("kit-unknown", at, { kit, known: [...hand.keys(), ...atFault] }));
    return { kit, quantity: line.quantity, ...(line.texts ? { texts: line.texts.map(wordingOf) } : {}) };
  });
  if (hasErrors(findings)) return { findings };
  return { findings, value: { order, ...(form.value.due ? { due: form.value.due } : {}), lines } };
};

/**
 * Orders as their files describe them, held against the kits on hand: the only maker of an `Order`. The same order twice
 * with the same content is one order; with other content it is a finding. Texts come back in Unicode NFC.
 * @param files the order files in the caller's order; `text` is the JSON text or the value made of it
 * @returns every order, or every fault of all files at once (and the orders that have none); never throws
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
