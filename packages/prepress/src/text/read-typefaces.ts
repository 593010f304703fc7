import type { Finding, TextSlot } from "@kitforme/kit";
import type { Prepared } from "../prepared.ts";
import type { Say } from "./words.ts";
import type { Refusal, Typeface } from "./typeface.ts";
import { openTypeface } from "./typeface.ts";

/** The slot's own fonts, opened and allowed; no value when one of them is refused. */
export const readTypefaces = async (slot: TextSlot, say: Say): Promise<Prepared<readonly Typeface[]>> => {
  const read = await Promise.all(slot.fonts.map(({ bytes, file }) => openTypeface(bytes, file)));
  const findings = read.flatMap((font) => ("refused" in font ? [refusal(font, say)] : permissionFindings(font, say)));
  if (findings.some((f) => f.level === "error")) return { findings };
  return { value: read.filter((font): font is Typeface => !("refused" in font)), findings };
};

const refusal = ({ file, refused, reason }: Refusal, say: Say): Finding =>
  say(refused === "colour" ? "font-colour" : "font-unreadable", { file, reason });

const permissionFindings = ({ file, permission, axes, fonts, doubts }: Typeface, say: Say): Finding[] => [
  ...(permission === "restricted" || permission === "bitmaps-only"
    ? [say("font-forbids-embedding", { file, bitmapsOnly: permission === "bitmaps-only" })]
    : []),
  ...(permission === "unknown" ? [say("font-permission-unknown", { file })] : []),
  ...(axes.length > 0 ? [say("font-variable", { file, axes })] : []),
  ...(fonts > 1 ? [say("font-collection", { file, fonts })] : []),
  ...doubts.map((why) => say("font-altered", { file, why })),
];
