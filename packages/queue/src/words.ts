import { error, quoted, sayer, type Words } from "@kitforme/kit";

/** What can be wrong with orders that are handed to the queue. */
interface QueueFacts {
  "order-changed": { readonly order: string; readonly how: string };
  "order-pictures-unseen": { readonly order: string };
}

const QUEUE_WORDS: Words<QueueFacts> = {
  "order-changed": ({ order, how }) =>
    error(
      `Order ${quoted(order)} ${how}.`,
      "Give the changed order a name of its own, or submit it as a change (submit --change, by HTTP ?change=true) as long as it is not ganged; nothing of this submission was put on the queue.",
    ),
  "order-pictures-unseen": ({ order }) =>
    error(
      `Order ${quoted(order)} has pictures beside it, which the workers cannot see from here.`,
      "Submit it with --shop, --kits and --out (or KITFORME_SHOP, KITFORME_KITS, KITFORME_OUT) as the workers have them; nothing of this submission was put on the queue.",
    ),
};

export const say = sayer(QUEUE_WORDS);
