import type { Assembly, Finding, OpenAssembly, Place } from "@kitforme/kit";
import { PDFDocument } from "./pdf-lib.ts";
import { Broken } from "./artwork/damage/damage.ts";
import { boxesOf, hasArea, shownSize } from "./artwork/pdf/boxes.ts";
import { checkFile } from "./artwork/pdf/check-file.ts";
import { hiddenLayers } from "./artwork/pdf/hidden.ts";
import { type Kept, keepPage } from "./artwork/pdf/keep.ts";
import { withPage } from "./artwork/pdf/pdfium.ts";
import { drawPage } from "./artwork/render-page.ts";
import { sayAssembly } from "./words/assembly-words.ts";

/** Pages of steps that are taken: each is taken apart and drawn once, and goes with every job. */
const MOST_PAGES = 40;
/** Pixels of the longer side at which a page is drawn to see that it can be. */
const PROOF = 400;
/** Office paper has no press: colours stay as they are as far as a page of RGB may hold them. */
const OFFICE = { colour: "rgb" } as const;

/**
 * Opens the designer's assembly pages as artwork is opened: nothing encrypted or damaged is taken, hidden layers are left out,
 * form fields and comments drawn, and what would run (scripts, links, attachments) stays behind. Every page is drawn once to see
 * that it can be.
 *
 * @returns each page as a PDF of its own, or why not
 */
export const openAssembly: OpenAssembly = async ({ kit, file, bytes }) => {
  const where: Place = { kit, file, field: "assembly" };
  const unreadable = (what: string, page?: number): { readonly findings: readonly Finding[] } => ({
    findings: [sayAssembly("assembly-unreadable", where, { what, page })],
  });
  const opened = await withPage(bytes, 0, ({ count }) => count);
  if ("refusal" in opened) {
    if (opened.refusal === "encrypted") return { findings: [sayAssembly("assembly-encrypted", where, {})] };
    return unreadable("the PDF is damaged or cut off");
  }
  const count = opened.value;
  if (count > MOST_PAGES)
    return { findings: [sayAssembly("assembly-too-long", where, { pages: count, most: MOST_PAGES })] };
  const kept: Kept[] = [];
  let layers: readonly string[] = [];
  try {
    checkFile(bytes);
    const document = await PDFDocument.load(bytes, {
      updateMetadata: false,
      throwOnInvalidObject: true,
      parseSpeed: Infinity,
    });
    layers = hiddenLayers(document);
    for (let i = 0; i < count; i++) {
      const { shown, turn } = boxesOf(document.getPage(i).node, "crop");
      if (!hasArea(shown)) return unreadable("it has no area", i + 1);
      const one = await keepPage(document, i, shown, OFFICE);
      const [wide, high] = shownSize(shown, turn);
      const size = (side: number): number => Math.max(1, Math.round((side / Math.max(wide, high)) * PROOF));
      const drawn = await withPage(pageOf(one).bytes, 0, (page) =>
        drawPage(page, { width: size(wide), height: size(high) }),
      );
      if ("refusal" in drawn) return unreadable("it cannot be drawn", i + 1);
      kept.push(one);
    }
  } catch (error) {
    // Whatever the PDF library says of a stranger's file is about the file.
    return unreadable(
      error instanceof Broken ? error.message : "its objects are not what they should be",
      Math.min(count, kept.length + 1),
    );
  }
  const findings: Finding[] = [];
  const fonts = [...new Set(kept.flatMap(({ anatomy }) => [...anatomy.fontsMissing]))];
  const fields = [...new Set(kept.flatMap(({ annotations }) => annotations.blank))];
  if (fonts.length > 0) findings.push(sayAssembly("assembly-font-missing", where, { fonts }));
  if (fields.length > 0) findings.push(sayAssembly("assembly-form-blank", where, { fields }));
  if (layers.length > 0) findings.push(sayAssembly("assembly-hidden-layers", where, { layers }));
  const value: Assembly = { file, pages: kept.map((one) => ({ bytes: pageOf(one).bytes })) };
  return { value, findings };
};

/** In the colours that it came with. */
const pageOf = ({ page, plain }: Kept) => plain ?? page;
