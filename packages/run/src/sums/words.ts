import { error, quoted, sayer, type Words, warning } from "@kitforme/kit";

/** What sums of files can show. */
interface SumFacts {
  "file-changed": { readonly path: string; readonly bytes: number };
  "file-unsummed": { readonly path: string };
  /** `twice`: the file that it gives a second sum; empty where the line itself is none. */
  "sums-unreadable": { readonly line: number; readonly twice: string };
  "picture-changed": { readonly path: string };
}

const ANEW = "write the sums anew: kitforme seal and the kit's folder";

const SUM_WORDS: Words<SumFacts> = {
  "file-changed": ({ path, bytes }) =>
    error(
      `The file ${quoted(path)} (${bytes} bytes) is not the one whose sum stands in SHA256SUMS: it was damaged on its way, or changed afterwards.`,
      `Copy it again from where the kit was made; if it was changed on purpose, ${ANEW}.`,
    ),
  "file-unsummed": ({ path }) =>
    warning(
      `The kit has check sums, and none for ${quoted(path)}: nobody can see whether this file arrived as it was sent.`,
      `If the file belongs to the kit, ${ANEW}.`,
    ),
  "sums-unreadable": ({ line, twice }) =>
    error(
      twice
        ? `Line ${line} of SHA256SUMS gives ${quoted(twice)} a second sum.`
        : `Line ${line} of SHA256SUMS is no check sum of 64 digits with the name of a file behind it.`,
      `Copy the file again from where the kit was made, or ${ANEW}.`,
    ),
  "picture-changed": ({ path }) =>
    error(
      `The picture ${quoted(path)} is not the one whose sum the order gives: it was damaged on its way, or exchanged.`,
      "Fetch it again from the store; if it was changed on purpose, correct sha256 in the order or leave it out.",
    ),
};

/** A finding about a file and its sum. */
export const saySums = sayer(SUM_WORDS);
