import type { Finding, Slot } from "@kitforme/kit";
import type { Prepared } from "../prepared.ts";
import type { Say } from "./say.ts";
import type { Refusal, Typeface } from "./typeface.ts";
import { openTypeface } from "./typeface.ts";

/** The slot's own fonts, opened and allowed; no value when one of them is refused. */
export const readTypefaces = async (slot: Slot, say: Say): Promise<Prepared<readonly Typeface[]>> => {
  const read = await Promise.all(slot.fonts.map(({ bytes, file }) => openTypeface(bytes, file)));
  const findings = read.flatMap((font) => ("refused" in font ? [refusal(font, say)] : permissionFindings(font, say)));
  if (findings.some((f) => f.level === "error")) return { findings };
  return { value: read.filter((font): font is Typeface => !("refused" in font)), findings };
};

const refusal = ({ file, refused, reason }: Refusal, say: Say): Finding =>
  refused === "colour"
    ? say(
        "error",
        "font-colour",
        `${file}: ${reason}; such a font cannot take the slot's colour`,
        "use a font of plain outlines",
      )
    : say(
        "error",
        "font-unreadable",
        `${file} cannot be used: ${reason}`,
        "replace the file by a sound TrueType, OpenType, WOFF or WOFF2 font",
      );

const permissionFindings = ({ file, permission, axes }: Typeface, say: Say): Finding[] => {
  const findings: Finding[] = [];
  const licence = "ask the font's maker for a licence that allows it, or use another font";
  if (permission === "restricted")
    findings.push(
      say(
        "error",
        "font-forbids-embedding",
        `${file} forbids its use in documents (OS/2 fsType 2, restricted licence)`,
        licence,
      ),
    );
  if (permission === "bitmaps-only")
    findings.push(
      say(
        "error",
        "font-forbids-embedding",
        `${file} allows only bitmaps of its letters in documents (OS/2 fsType bit 9)`,
        licence,
      ),
    );
  if (permission === "unknown")
    findings.push(
      say(
        "warning",
        "font-permission-unknown",
        `${file} has no OS/2 table, so it does not say what its licence allows`,
        "read the font's licence",
      ),
    );
  if (axes.length > 0)
    findings.push(
      say(
        "note",
        "font-variable",
        `${file} is a variable font (${axes.join(", ")}): its default instance is set`,
        "give a static instance if another weight or width is meant",
      ),
    );
  return findings;
};
