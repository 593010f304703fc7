import { flattenCubic, fromPoints, type Path, type Point } from "@kitforme/geometry";
import { OPERATIONS, type Operation } from "@kitforme/kit";
import { operationsOf } from "@kitforme/prepress";
import { decodePDFRawStream, PDFArray, PDFDict, PDFDocument, PDFName, PDFRawStream } from "../pdf-lib.ts";

/** A line as a cut PDF has it, micrometres of the sheet. */
export interface CutLine {
  readonly operation: Operation;
  readonly closed: boolean;
  readonly points: Path<"sheet">;
}

const name = (key: string): PDFName => PDFName.of(key);
/** As chords of the other formats are: within a micrometre. */
const CHORD = 1;
/** Points: PDF boxes are compared so by common practice. */
const EXACT = 0.01;

/**
 * The lines of a cut PDF that kitforme wrote, as a machine that goes by layers finds them: a line counts for the processing step
 * that its layer's metadata names (ISO 19593-1), and only where its ink has that name and overprints.
 *
 * @throws with what is wrong, where a page, layer or ink is not as the format has it, or a line lies in no layer
 */
export const readCutPdf = async (
  bytes: Uint8Array,
  size: { readonly width: number; readonly height: number },
): Promise<CutLine[]> => {
  const document = await PDFDocument.load(bytes, { updateMetadata: false });
  const [page, more] = document.getPages();
  if (!page || more) throw new Error("not one page");
  const box = page.getMediaBox();
  const off = [box.x, box.y, fromPoints(box.width) - size.width, fromPoints(box.height) - size.height];
  if (off.some((by, i) => Math.abs(i < 2 ? by : by / fromPoints(1)) > EXACT)) throw new Error("a page of another size");
  const resources = page.node.Resources();
  const entry = (table: string, key: string): unknown =>
    resources?.lookupMaybe(name(table), PDFDict)?.lookup(name(key));
  const contents = page.node.Contents();
  if (!(contents instanceof PDFRawStream)) throw new Error("no content");
  const program = operationsOf(decodePDFRawStream(contents).decode());
  if (!program) throw new Error("content that is none");

  const lines: CutLine[] = [];
  let layer: PDFDict | undefined;
  let ink = "";
  let over = false;
  let subpaths: { points: Point<"sheet">[]; closed: boolean }[] = [];
  for (const { operator, operands: n } of program) {
    const at = (i: number): Point<"sheet"> => ({ x: rounded(n[i]), y: rounded(n[i + 1]) });
    const key = typeof n.at(-1) === "string" ? (n.at(-1) as string).slice(1) : "";
    const points = subpaths.at(-1)?.points;
    const from = points?.at(-1);
    if (operator === "BDC") {
      const found = entry("Properties", key);
      layer = found instanceof PDFDict ? found : undefined;
    } else if (operator === "EMC") layer = undefined;
    else if (operator === "CS") {
      const space = entry("ColorSpace", key);
      const kind = space instanceof PDFArray ? space.lookup(0) : undefined;
      ink = kind === name("Separation") && space instanceof PDFArray ? String(space.lookup(1)).slice(1) : "";
    } else if (operator === "gs") {
      const state = entry("ExtGState", key);
      over = state instanceof PDFDict && String(state.lookup(name("OP"))) === "true";
    } else if (operator === "m") subpaths.push({ points: [at(0)], closed: false });
    else if (operator === "l") points?.push(at(0));
    else if (operator === "c" && from)
      points?.push(...flattenCubic<"sheet">(from, at(0), at(2), at(4), CHORD).slice(1));
    else if (operator === "h") for (const one of subpaths.slice(-1)) one.closed = true;
    else if (operator === "f") subpaths = [];
    else if (operator === "S") {
      const operation = operationOf(layer);
      if (ink.toLowerCase() !== operation.toLowerCase())
        throw new Error(`a line of ${operation} in the ink ${ink || "of the page"}`);
      if (!over) throw new Error(`a line of ${operation} that knocks out what is under it`);
      lines.push(
        ...subpaths.map(({ points: all, closed }) => ({ operation, closed, points: closed ? opened(all) : all })),
      );
      subpaths = [];
    }
  }
  return lines;
};

const rounded = (value: number | string | undefined): number => Math.round(fromPoints(Number(value))) + 0;

const operationOf = (layer: PDFDict | undefined): Operation => {
  const metadata = layer?.lookupMaybe(name("GTS_Metadata"), PDFDict);
  const group = metadata?.lookup(name("GTS_ProcStepsGroup"));
  const type = String(metadata?.lookup(name("GTS_ProcStepsType")) ?? "").slice(1);
  const found = OPERATIONS.find((o) => o.toLowerCase() === type.toLowerCase());
  if (!found || group !== name("Structural"))
    throw new Error(`a line in no layer of a processing step (${type || "none"})`);
  return found;
};

/** A curve home ends on the first point, which a closed line does not repeat. */
const opened = (points: readonly Point<"sheet">[]): Path<"sheet"> => {
  const [first, last] = [points[0], points.at(-1)];
  return points.length > 1 && first?.x === last?.x && first?.y === last?.y ? points.slice(0, -1) : points;
};
