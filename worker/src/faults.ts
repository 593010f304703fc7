import { error, quoted, sayer, type Words } from "@kitforme/kit";

/** What can be wrong with the paths and orders that a command is given. */
interface CommandFacts {
  "file-unreadable": { readonly what: string; readonly why: string };
  "folder-unwritable": { readonly why: string };
  "order-changed": { readonly order: string; readonly how: string };
}

const COMMAND_WORDS: Words<CommandFacts> = {
  "file-unreadable": ({ what, why }) => error(`${what} cannot be read: ${why}.`, "Check the path."),
  "folder-unwritable": ({ why }) =>
    error(`The job folder cannot be written: ${why}.`, "Name another folder with --out, or correct its permissions."),
  "order-changed": ({ order, how }) =>
    error(
      `Order ${quoted(order)} ${how}.`,
      "Give the changed order a name of its own; nothing of this submission was put on the queue.",
    ),
};

export const say = sayer(COMMAND_WORDS);
