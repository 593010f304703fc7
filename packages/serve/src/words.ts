import { error, quoted, sayer, type Words } from "@kitforme/kit";

/** What can be wrong with orders that come by HTTP. */
interface ServeFacts {
  "order-name-differs": { readonly path: string; readonly order: string };
  "order-pictures-http": { readonly order: string };
}

const SERVE_WORDS: Words<ServeFacts> = {
  "order-name-differs": ({ path, order }) =>
    error(`The address says ${quoted(path)}, the order ${quoted(order)}.`, "Let both say the same name."),
  "order-pictures-http": ({ order }) =>
    error(
      `Order ${quoted(order)} names pictures, and HTTP brings none along.`,
      "Let the shop submit it with its pictures beside it (kitforme submit), or leave them out.",
    ),
};

export const say = sayer(SERVE_WORDS);
