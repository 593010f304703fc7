import type { Sheet } from "@kitforme/sheet";

/** What every cut file says of itself, so that a file found on a machine can be told from another. */
export const identityOf = ({ job, sheet, of }: Sheet): string => `Job ${job}, sheet ${sheet} of ${of}`;
