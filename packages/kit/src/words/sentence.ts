import type { Finding, Level, Place } from "../problem.ts";

/** What a rule says about its facts: how bad, what is wrong with numbers, what to do. */
export interface Sentence {
  readonly level: Level;
  readonly message: string;
  readonly hint: string;
}

/** An error's words: what is wrong, what to do. It stops the job. */
export const error = (message: string, hint: string): Sentence => ({ level: "error", message, hint });
/** A warning's words: what may be wrong, what to do. The job is made all the same. */
export const warning = (message: string, hint: string): Sentence => ({ level: "warning", message, hint });
/** A note's words: what was done, and what it means. */
export const note = (message: string, hint: string): Sentence => ({ level: "note", message, hint });

/** One sentence builder for every rule of a family: a rule without words does not compile. */
export type Words<Facts> = { readonly [Rule in keyof Facts]: (facts: Facts[Rule]) => Sentence };

/** Makes findings of one family of rules: the rule's own words about these facts at this place. */
export type Say<Facts> = <R extends keyof Facts & string>(rule: R, where: Place, facts: Facts[R]) => Finding;

/**
 * The one maker of findings. Each package holds its rules as a record of facts and a record of words, and makes every
 * finding with the function this returns, so that none lacks its words and all end alike.
 *
 * @example
 * interface SheetFacts { "sheet-too-small": { readonly width: number } }
 * const SHEET_WORDS: Words<SheetFacts> = {
 *   "sheet-too-small": ({ width }) => error(`The sheet is only ${width} mm wide`, "Use a larger one"),
 * };
 * export const say = sayer(SHEET_WORDS);
 * say("sheet-too-small", { stock: "card" }, { width: 40 }).message; // "The sheet is only 40 mm wide."
 */
export const sayer =
  <Facts>(words: Words<Facts>): Say<Facts> =>
  (rule, where, facts) => {
    const { level, message, hint } = words[rule](facts);
    return { level, rule, where, message: ended(message), hint: ended(hint) };
  };

/** A sentence ends with a stop, whoever wrote it. */
const ended = (sentence: string): string => {
  const text = sentence.trim();
  return text === "" || /[.!?][)"”’]?$/u.test(text) ? text : `${text}.`;
};
