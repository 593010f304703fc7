import { PDFArray, PDFName, PDFNumber, type PDFObject, PDFStream } from "../../pdf-lib.ts";

const COMPONENTS: Readonly<Record<string, number>> = {
  "/DeviceGray": 1,
  "/CalGray": 1,
  "/DeviceRGB": 3,
  "/CalRGB": 3,
  "/DeviceCMYK": 4,
};

/** Components of a device, calibrated or profiled colour space; undefined for all others (indexed, spot, Lab, patterns). */
export const componentsOf = (space: PDFObject | undefined): number | undefined => {
  if (space instanceof PDFName) return COMPONENTS[space.toString()];
  if (!(space instanceof PDFArray) || space.size() === 0) return undefined;
  const kind = space.lookup(0);
  const profile = kind === PDFName.of("ICCBased") ? space.lookup(1) : undefined;
  const count = profile instanceof PDFStream ? profile.dict.lookup(PDFName.of("N")) : undefined;
  return count instanceof PDFNumber ? count.asNumber() : COMPONENTS[String(kind)];
};

/** Values a pixel of a picture in a space; undefined where that cannot be told. */
export const channelsIn = (space: PDFObject | undefined): number | undefined => {
  const known = componentsOf(space);
  if (known !== undefined) return known;
  const kind = space instanceof PDFArray && space.size() > 1 ? space.lookup(0) : space;
  if (kind === PDFName.of("Indexed") || kind === PDFName.of("Separation")) return 1;
  if (kind === PDFName.of("Lab")) return 3;
  const names = space instanceof PDFArray && kind === PDFName.of("DeviceN") ? space.lookup(1) : undefined;
  return names instanceof PDFArray ? names.size() : undefined;
};
