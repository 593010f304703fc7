import {
  PDFArray,
  PDFContext,
  PDFDict,
  PDFName,
  PDFObjectParser,
  type PDFObject,
  PDFRawStream,
  PDFRef,
  PDFWriter,
} from "../pdf-lib.ts";
import { type Breach, checkPrint, type Expected } from "../check-print/check-print.ts";

/** Bytes of a finished file. */
export interface ReadableFile {
  readonly length: number;
  read(at: number, length: number): Promise<Uint8Array>;
}

/** Dictionaries of streams are shorter, so that pictures need not be read to know what they are. */
const HEAD = 4096;
const name = (key: string): PDFName => PDFName.of(key);

/**
 * Reads a file of many sheets back, page after page, by its own table of objects, and holds each page with all that belongs to it
 * against the rules for print PDFs (`checkPrint`). Only one page is in memory at a time; samples of pictures are not read.
 *
 * @param expected what each page is, in their order
 * @returns breaches of the first page that has any; `pages` where the file's own structure is broken
 */
export const checkWhole = async (
  file: ReadableFile,
  expected: readonly Omit<Expected, "pages">[],
): Promise<readonly Breach[]> => {
  try {
    const objects = await openObjects(file);
    const tree = await objects.tree();
    if (tree.length !== expected.length)
      return broken(`The file has ${tree.length} pages instead of ${expected.length}.`);
    for (const [i, page] of tree.entries()) {
      const view = await objects.pageAlone(page);
      const breaches = await checkPrint(view, { ...(expected[i] as Omit<Expected, "pages">), pages: 1 });
      if (breaches.length > 0) return breaches.map((one) => ({ ...one, says: `Page ${i + 1}: ${one.says}` }));
    }
    return [];
  } catch (error) {
    return broken(`The file cannot be read: ${error instanceof Error ? error.message : String(error)}.`);
  }
};

const broken = (says: string): Breach[] => [{ letter: "pages", says }];

const openObjects = async (file: ReadableFile) => {
  const text = async (at: number, length: number): Promise<string> =>
    Buffer.from(await file.read(at, Math.min(length, file.length - at))).toString("latin1");
  const start = Number(/startxref\s+(\d+)\s+%%EOF\s*$/.exec(await text(Math.max(0, file.length - 64), 64))?.[1]);
  if (!Number.isInteger(start)) throw new Error("it has no table of objects");
  const table = await text(start, file.length - start);
  const [, count, rows = "", trailer = ""] =
    /^xref\s+0 (\d+)\n((?:\d{10} \d{5} [nf] \n)+)\s*trailer\s*([\s\S]*)$/.exec(table) ?? [];
  const offsets = rows
    .split("\n")
    .slice(0, -1)
    .map((row) => Number(row.slice(0, 10)));
  if (offsets.length !== Number(count)) throw new Error("its table of objects is not whole");
  const ends = new Map([...offsets.slice(1).sort((a, b) => a - b), start].map((at, i, all) => [all[i - 1], at]));
  const header = await file.read(0, 8);

  const parsed = (bytes: Uint8Array, context: PDFContext): PDFObject =>
    PDFObjectParser.forBytes(bytes, context).parseObject();
  const trailerOf = (context: PDFContext): PDFDict => {
    const dict = parsed(Buffer.from(trailer, "latin1"), context);
    if (!(dict instanceof PDFDict)) throw new Error("it has no trailer");
    return dict;
  };
  /** An object by its number, a picture without its samples. */
  const object = async (number: number, context: PDFContext): Promise<PDFObject> => {
    const at = offsets[number];
    const end = ends.get(at);
    if (at === undefined || end === undefined) throw new Error(`object ${number} is not in its table`);
    const head = await file.read(at, Math.min(HEAD, end - at));
    const mark = `${number} 0 obj\n`;
    const whole = Buffer.from(head.buffer, head.byteOffset, head.byteLength);
    if (whole.toString("latin1", 0, mark.length) !== mark)
      throw new Error(`object ${number} is not where its table says`);
    const stream = whole.indexOf("\nstream\n");
    if (end - at > HEAD && stream > 0) {
      const dict = parsed(whole.subarray(mark.length, stream), context);
      if (dict instanceof PDFDict && dict.get(name("Subtype")) === name("Image"))
        return PDFRawStream.of(dict, new Uint8Array());
    }
    return parsed((end - at > HEAD ? await file.read(at, end - at) : head).subarray(mark.length), context);
  };
  const dictOf = async (ref: PDFObject | undefined, context: PDFContext): Promise<PDFDict> => {
    const dict = ref instanceof PDFRef ? await object(ref.objectNumber, context) : undefined;
    if (!(dict instanceof PDFDict)) throw new Error("its catalog or its pages are missing");
    return dict;
  };

  return {
    async tree(): Promise<PDFRef[]> {
      const context = PDFContext.create();
      const catalog = await dictOf(trailerOf(context).get(name("Root")), context);
      const kids = (await dictOf(catalog.get(name("Pages")), context)).get(name("Kids"));
      if (!(kids instanceof PDFArray)) throw new Error("its pages are missing");
      return kids.asArray().filter((kid): kid is PDFRef => kid instanceof PDFRef);
    },
    /** The page as a file of its own, objects under the numbers that they have in the whole. */
    async pageAlone(page: PDFRef): Promise<Uint8Array> {
      const context = PDFContext.create();
      const ends = trailerOf(context);
      const [root, info] = [ends.get(name("Root")), ends.get(name("Info"))];
      const catalog = await dictOf(root, context);
      const tree = catalog.get(name("Pages"));
      if (!(root instanceof PDFRef) || !(tree instanceof PDFRef)) throw new Error("its catalog is missing");
      context.assign(root, catalog);
      context.assign(tree, context.obj({ Type: "Pages", Kids: [page], Count: 1 }));
      const waiting: PDFObject[] = [catalog, page, ...(info ? [info] : [])];
      for (let one = waiting.pop(); one; one = waiting.pop()) {
        if (one instanceof PDFRef) {
          if (context.lookup(one)) continue;
          const found = await object(one.objectNumber, context);
          context.assign(one, found);
          waiting.push(found);
        } else if (one instanceof PDFRawStream) waiting.push(one.dict);
        else if (one instanceof PDFDict) waiting.push(...one.values());
        else if (one instanceof PDFArray) waiting.push(...one.asArray());
      }
      const id = ends.get(name("ID"));
      context.trailerInfo.Root = root;
      if (info) context.trailerInfo.Info = info;
      if (id) context.trailerInfo.ID = id;
      const bytes = await PDFWriter.forContext(context, Number.POSITIVE_INFINITY).serializeToBuffer();
      bytes.set(header);
      return bytes;
    },
  };
};
