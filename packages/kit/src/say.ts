import { DRAWING_WORDS, type DrawingFacts } from "./words/drawing-words.ts";
import { FIT_WORDS, type FitFacts } from "./words/fit-words.ts";
import { FORM_WORDS, type FormFacts } from "./words/form-words.ts";
import { ORDER_WORDS, type OrderFacts } from "./words/order-words.ts";
import { PIECE_WORDS, type PieceFacts } from "./words/piece-words.ts";
import { sayer, type Words } from "./words/sentence.ts";
import { SHOP_WORDS, type ShopFacts } from "./words/shop-words.ts";

/** Every rule of this package with the facts it needs. */
export type Facts = FormFacts & ShopFacts & OrderFacts & DrawingFacts & PieceFacts & FitFacts;
/** The name of a rule of this room. Each has a sentence, or it does not compile. */
export type Rule = keyof Facts;

const WORDS: Words<Facts> = {
  ...FORM_WORDS,
  ...SHOP_WORDS,
  ...ORDER_WORDS,
  ...DRAWING_WORDS,
  ...PIECE_WORDS,
  ...FIT_WORDS,
};

/** Every rule that this package can find broken. */
export const RULES = Object.keys(WORDS) as readonly Rule[];

/** A finding of this package: the rule's own words about these facts at this place. */
export const say = sayer(WORDS);
