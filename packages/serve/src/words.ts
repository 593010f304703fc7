import { error, quoted, sayer, type Words } from "@kitforme/kit";

/** What can be wrong with orders that come by HTTP. */
interface ServeFacts {
  "order-name-differs": { readonly path: string; readonly order: string };
  "order-picture-unsent": { readonly picture: string };
}

const SERVE_WORDS: Words<ServeFacts> = {
  "order-name-differs": ({ path, order }) =>
    error(`The address says ${quoted(path)}, the order ${quoted(order)}.`, "Let both say the same name."),
  "order-picture-unsent": ({ picture }) =>
    error(
      `The picture ${quoted(picture)} has not been sent to this server.`,
      'Send it first (PUT /pictures/SHA-256), and name it as the answer says: { "file": "pictures/SHA-256" }.',
    ),
};

export const say = sayer(SERVE_WORDS);
