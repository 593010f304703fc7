import { jsonFault } from "./json-fault.ts";
import { plain } from "./numbers.ts";

/** A JSON text as a value, or why it is none. A byte order mark is no JSON, but many editors write it. Never throws. */
export const parseJson = (text: string): { readonly value: unknown } | { readonly why: string } => {
  try {
    return { value: JSON.parse(text.startsWith("\ufeff") ? text.slice(1) : text) as unknown };
  } catch (e) {
    // A NUL or the sign for what could not be decoded at the very start: another encoding, or no text at all.
    if (/^\ufffd|^.{0,3}\0/s.test(text)) return { why: "it is not text in UTF-8 (perhaps UTF-16, or no text at all)" };
    const fault = jsonFault(text.startsWith("\ufeff") ? text.slice(1) : text);
    if (fault) return { why: `line ${fault.line}, column ${fault.column}: ${fault.what}` };
    // An engine that takes less than the standard does: its own words are better than none.
    return { why: e instanceof Error ? plain(e.message.replace(/\s+/g, " ").slice(0, 200)) : "it cannot be parsed" };
  }
};

/** A field of a JSON object's text, before anybody has judged its form; undefined when there is none. */
const fieldOf = (text: string, field: string): unknown => {
  const parsed = parseJson(text);
  return "value" in parsed && typeof parsed.value === "object" && parsed.value !== null
    ? (parsed.value as Record<string, unknown>)[field]
    : undefined;
};

/** What a kit's text calls the kit, in NFC; undefined when it does not. */
export const kitNamedIn = (text: string): string | undefined => {
  const kit = fieldOf(text, "kit");
  return typeof kit === "string" ? kit.normalize("NFC") : undefined;
};

/** What an order's text calls the order, in NFC; undefined when it does not. */
export const orderNamedIn = (text: string): string | undefined => {
  const order = fieldOf(text, "order");
  return typeof order === "string" ? order.normalize("NFC") : undefined;
};

/** Kits that an order's text names, in NFC, as far as it can be read: what to open before the order is judged. */
export const kitsNamedIn = (text: string): string[] => {
  const lines = fieldOf(text, "lines");
  if (!Array.isArray(lines)) return [];
  return lines.flatMap((line: unknown) => {
    const kit = typeof line === "object" && line !== null && "kit" in line ? line.kit : undefined;
    return typeof kit === "string" ? [kit.normalize("NFC")] : [];
  });
};
