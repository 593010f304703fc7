import type { Finding, Order } from "@kitforme/kit";
import { lettersMissing } from "@kitforme/prepress";
import { say } from "./words.ts";

/** Addresses whose letters the packing slip's font has not: a parcel must not go out with blanks for a name. */
export const addressLetters = (orders: readonly Order[]): Finding[] =>
  orders.flatMap(({ order, to = [] }) => {
    const missing = [...new Set(to.flatMap(lettersMissing))];
    return missing.length > 0 ? [say("address-letters", { order, field: "to" }, { letters: missing.slice(0, 8) })] : [];
  });
