import type { Finding, Place } from "@kitforme/kit";
import { codePointName } from "./clean.ts";

/** Makes a finding about one slot. */
export type Say = (level: Finding["level"], rule: string, message: string, hint: string) => Finding;

export const sayAt =
  (where: Place): Say =>
  (level, rule, message, hint) => ({ level, rule, where, message, hint });

export const quote = (text: string): string => JSON.stringify(text);

/** A grapheme cluster with its code points: `é (U+0065 U+0301)`. */
export const spell = (cluster: string): string =>
  `${cluster} (${Array.from(cluster)
    .map((c) => codePointName(c.codePointAt(0) as number))
    .join(" ")})`;
