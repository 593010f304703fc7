/** A picture of the buyer's: a file beside the order. */
export interface BuyersPicture {
  readonly file: string;
  /** What of the picture is shown, in shares of its sides; left out, all. */
  readonly crop?: readonly [x: number, y: number, width: number, height: number];
  /** The file's SHA-256 as the order gives it, in small hexadecimal digits. */
  readonly sha256?: string;
  /** Hash of the file, once it was read: equal names of two orders may be two pictures. */
  readonly content?: string;
}

/** The words of one copy: slot name to text, or to a picture. */
export type Wording = Readonly<Record<string, string | BuyersPicture>>;

/** What a slot's words are called among people: the text, or the picture's file. */
export const wordsOf = (said: string | BuyersPicture): string => (typeof said === "string" ? said : said.file);

/** So many copies of one kit, and what stands on each. */
export interface OrderLine {
  readonly kit: string;
  readonly quantity: number;
  /** One entry per copy; absent when the line has no texts. */
  readonly texts?: readonly Wording[];
}

/** An order that was read and believed. Made by `readOrders` only. */
export interface Order {
  readonly order: string;
  /** ISO date, `YYYY-MM-DD`. */
  readonly due?: string;
  /** Address lines for the packing slip. */
  readonly to?: readonly string[];
  readonly lines: readonly OrderLine[];
}
