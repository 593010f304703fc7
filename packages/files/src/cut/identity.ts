import type { CutSheet } from "./cut-sheet.ts";

/** What every cut file says of itself, so that a file found on a machine can be told from another. */
export const identityOf = ({ job, sheet, of }: CutSheet): string => `Job ${job}, sheet ${sheet} of ${of}`;
