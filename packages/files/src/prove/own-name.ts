import type { CutFormat } from "@kitforme/kit";
import type { CutSheet } from "../cut/cut-sheet.ts";
import { identityOf } from "../cut/identity.ts";

/** How a cut file of a format names its job and sheet. */
export const ownName = (sheet: CutSheet, format: CutFormat): string =>
  format === "hpgl" ? `CO"${sheet.job}-${sheet.sheet}-${sheet.of}";` : identityOf(sheet);

/** A hash of the file in its trailer, twice. */
const ID = /\/ID \[ <([0-9a-f]{32})> <\1> \]/;

/** The file without what sets it apart from that of a sheet that is cut alike: its name, and in a PDF the name in hexadecimal and the hash. */
export const nameless = (sheet: CutSheet, format: CutFormat, file: Uint8Array): string => {
  const text = Buffer.from(file.buffer, file.byteOffset, file.byteLength).toString("latin1");
  const name = ownName(sheet, format);
  const bare = text.replaceAll(name, "");
  if (format !== "pdf") return bare;
  const hex = Array.from(name, (c) => c.charCodeAt(0).toString(16).padStart(4, "0").toUpperCase()).join("");
  const hash = ID.exec(bare)?.[1];
  return (hash ? bare.replaceAll(hash, "") : bare).replaceAll(hex, "");
};
