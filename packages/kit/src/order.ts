/** The words of one copy: slot name to text. */
export type Wording = Readonly<Record<string, string>>;

export interface OrderLine {
  readonly kit: string;
  readonly quantity: number;
  /** One entry per copy; absent when the line has no texts. */
  readonly texts?: readonly Wording[];
}

export interface Order {
  readonly order: string;
  /** ISO date, `YYYY-MM-DD`. */
  readonly due?: string;
  readonly lines: readonly OrderLine[];
}
