import type { Finding } from "@kitforme/kit";
import { EXIT } from "./exit.ts";
import type { Outlet } from "./outlet.ts";
import { countInWords, findingsInWords } from "./words.ts";

/** The end of a command whose input is at fault: every finding, then in so many words that nothing came of it. */
export const refuse = (findings: readonly Finding[], ending: string, outlet: Outlet): number => {
  for (const finding of findings) outlet.event("finding", finding);
  for (const words of findingsInWords(findings)) outlet.say(words);
  outlet.event("refused", { findings: findings.length });
  outlet.say(`${ending}: ${countInWords(findings)}.`);
  return EXIT.input;
};
