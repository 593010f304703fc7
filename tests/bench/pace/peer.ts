import { degrees, PDFDocument, type PDFFont, StandardFonts } from "pdf-lib";
import { PLACES } from "./personal-job.ts";

const POINTS = 72 / 25.4;

/**
 * The peer: the same number of pages of the same size with the same picture at as many places and a name on each, through the library's
 * own ways and nothing else: no bleed, no inks of the press, no marks, no code, no cut file, no proof, nothing read back.
 *
 * @returns seconds of processor a page
 */
export const plainEmbedding = async (png: Uint8Array, names: readonly string[], sheets: number): Promise<number> => {
  const before = process.cpuUsage();
  for (let sheet = 0; sheet < sheets; sheet++) {
    const document = await PDFDocument.create();
    const page = document.addPage([320 * POINTS, 450 * POINTS]);
    const font: PDFFont = await document.embedFont(StandardFonts.Helvetica);
    const picture = await document.embedPng(png);
    for (let place = 0; place < PLACES; place++) {
      const [x, y] = [(8 + (place % 4) * 76) * POINTS, (10 + Math.floor(place / 4) * 86) * POINTS];
      page.drawImage(picture, { x, y, width: 72 * POINTS, height: 82 * POINTS, rotate: degrees(0) });
      page.drawText(names[sheet * PLACES + place] ?? "", { x: x + 30, y: y + 80, size: 20, font });
    }
    await document.save();
  }
  const { user, system } = process.cpuUsage(before);
  return (user + system) / 1e6 / sheets;
};
