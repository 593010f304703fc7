import { error, sayer, type Words } from "@kitforme/kit";

/** What can be wrong with the paths that a command is given. */
interface CommandFacts {
  "file-unreadable": { readonly what: string; readonly why: string };
  "folder-unwritable": { readonly why: string };
  "cache-unwritable": { readonly why: string };
  "folder-holds-another-job": object;
  "copy-no-json": object;
}

const COMMAND_WORDS: Words<CommandFacts> = {
  "file-unreadable": ({ what, why }) => error(`${what} cannot be read: ${why}.`, "Check the path."),
  "folder-unwritable": ({ why }) =>
    error(`The folder cannot be written: ${why}.`, "Name another folder with --out, or correct its permissions."),
  "cache-unwritable": ({ why }) =>
    error(
      `The cache folder cannot be written: ${why}.`,
      "Name another with --cache (KITFORME_CACHE), correct its permissions, or do without.",
    ),
  "folder-holds-another-job": () =>
    error(
      "The job folder holds another finished job.",
      "Name another folder with --out, or say --replace if that job is no longer wanted.",
    ),
  "copy-no-json": () =>
    error(
      "The copy's words are no JSON.",
      'Give them by the names of the slots, as in --copy \'{"name": "Aino"}\', or name a file that holds them.',
    ),
};

export const say = sayer(COMMAND_WORDS);
