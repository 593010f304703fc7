import type { Level } from "../problem.ts";

/** What a rule says about its facts: how bad, what is wrong with numbers, what to do. */
export interface Sentence {
  readonly level: Level;
  readonly message: string;
  readonly hint: string;
}

export const error = (message: string, hint: string): Sentence => ({ level: "error", message, hint });
export const warning = (message: string, hint: string): Sentence => ({ level: "warning", message, hint });
export const note = (message: string, hint: string): Sentence => ({ level: "note", message, hint });

/** One sentence builder for every rule of a family: a rule without words does not compile. */
export type Words<Facts> = { readonly [Rule in keyof Facts]: (facts: Facts[Rule]) => Sentence };
