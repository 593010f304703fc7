import { inflateSync } from "node:zlib";
import { type ContentOperation, operationsOf } from "@kitforme/prepress";
import {
  decodePDFRawStream,
  PDFArray,
  PDFDict,
  PDFDocument,
  PDFHexString,
  PDFName,
  type PDFObject,
  type PDFPageLeaf,
  PDFRawStream,
  PDFRef,
  PDFString,
} from "../pdf-lib.ts";
import { readXmp } from "./read-xmp.ts";

/** A dictionary of the file and the number of the object that it is or lies in. */
export interface Found {
  readonly dict: PDFDict;
  readonly object: number;
  /** The dictionary of a stream. */
  readonly stream: boolean;
}

/** A content stream taken apart, and where its names lead. */
export interface Program {
  readonly object: number;
  readonly stream: PDFRawStream;
  /** Unpacked: what the operations' places count in. */
  readonly bytes: Uint8Array;
  readonly operations: readonly ContentOperation[];
  readonly resources: PDFDict | undefined;
}

/** A print PDF as its bytes say it is: nothing here is known from the writer. */
export interface PrintFile {
  readonly bytes: Uint8Array;
  readonly document: PDFDocument;
  readonly catalog: PDFDict;
  readonly info: PDFDict;
  readonly pages: readonly PDFPageLeaf[];
  readonly dicts: readonly Found[];
  readonly arrays: readonly { readonly array: PDFArray; readonly object: number }[];
  readonly programs: readonly Program[];
  /** Objects of content streams that could not be taken apart. */
  readonly unreadable: readonly number[];
  readonly metadata: PDFRawStream | undefined;
  /** Text of XMP properties by namespace and local name. */
  readonly xmp: ReadonlyMap<string, string>;
}

export const name = (key: string): PDFName => PDFName.of(key);

export const dictAt = (dict: PDFDict | undefined, key: string): PDFDict | undefined => {
  const value = dict?.lookup(name(key));
  return value instanceof PDFRawStream ? value.dict : value instanceof PDFDict ? value : undefined;
};
/** With its slash. */
export const nameAt = (dict: PDFDict, key: string): string | undefined => {
  const value = dict.lookup(name(key));
  return value instanceof PDFName ? value.asString() : undefined;
};
export const textAt = (dict: PDFDict, key: string): string | undefined => {
  const value = dict.lookup(name(key));
  return value instanceof PDFString || value instanceof PDFHexString ? value.decodeText() : undefined;
};

/** Dictionaries whose keys are names that a designer's program gave: a font may be called AA. */
const TABLES = ["ColorSpace", "ExtGState", "Font", "Pattern", "Properties", "Shading", "XObject"];

/**
 * Walks every object of a finished print PDF.
 *
 * @throws when the bytes are no PDF
 */
export const readPrint = async (bytes: Uint8Array): Promise<PrintFile> => {
  const document = await PDFDocument.load(bytes, { updateMetadata: false, ignoreEncryption: true });
  const { context, catalog } = document;
  const dicts: Found[] = [];
  const arrays: { array: PDFArray; object: number }[] = [];
  const tables = new Set<PDFDict>();
  const streams: { stream: PDFRawStream; object: number }[] = [];
  const walk = (value: PDFObject, object: number): void => {
    if (value instanceof PDFDict) {
      dicts.push({ dict: value, object, stream: false });
      const resources = dictAt(value, "Resources");
      for (const key of TABLES) {
        const table = dictAt(resources, key);
        if (table) tables.add(table);
      }
      const glyphs = dictAt(value, "CharProcs");
      if (glyphs) tables.add(glyphs);
      for (const one of value.values()) walk(one, object);
    } else if (value instanceof PDFArray) {
      arrays.push({ array: value, object });
      for (const one of value.asArray()) walk(one, object);
    } else if (value instanceof PDFRawStream) {
      walk(value.dict, object);
      const last = dicts.findLastIndex(({ dict }) => dict === value.dict);
      dicts[last] = { dict: value.dict, object, stream: true };
      streams.push({ stream: value, object });
    }
  };
  for (const [ref, object] of context.enumerateIndirectObjects()) walk(object, ref.objectNumber);

  const pages = document.getPages().map((page) => page.node);
  const { programs, unreadable } = programsOf(document, pages, streams, dicts);
  const metadata = catalog.lookup(name("Metadata"));
  const info = context.lookup(context.trailerInfo.Info);
  return {
    bytes,
    document,
    catalog,
    info: info instanceof PDFDict ? info : context.obj({}),
    pages,
    dicts: dicts.filter(({ dict }) => !tables.has(dict)),
    arrays,
    programs,
    unreadable,
    metadata: metadata instanceof PDFRawStream ? metadata : undefined,
    xmp: metadata instanceof PDFRawStream ? readXmp(metadata.getContents()) : new Map<string, string>(),
  };
};

const known = new WeakMap<Uint8Array, Promise<PrintFile>>();

/** The same for whoever asks for the same bytes again while they are in memory: a file is checked, and then proven. */
export const readPrintOnce = (bytes: Uint8Array): Promise<PrintFile> => {
  const file = known.get(bytes) ?? readPrint(bytes);
  known.set(bytes, file);
  return file;
};

/** Zlib is many times as fast as the library's own, which is for all that it does not do: other filters, and ends that are missing. */
const unpacked = (stream: PDFRawStream): Uint8Array => {
  if (nameAt(stream.dict, "Filter") === "/FlateDecode" && !stream.dict.has(name("DecodeParms")))
    try {
      return inflateSync(stream.getContents());
    } catch {
      // Left to the library.
    }
  return decodePDFRawStream(stream).decode();
};

/** Pages' contents, forms, tiles of patterns and drawn glyphs. */
const programsOf = (
  { context }: PDFDocument,
  pages: readonly PDFPageLeaf[],
  streams: readonly { readonly stream: PDFRawStream; readonly object: number }[],
  dicts: readonly Found[],
): Pick<PrintFile, "programs" | "unreadable"> => {
  const ofPages = new Map<PDFObject, PDFDict | undefined>();
  for (const page of pages) {
    const contents = page.Contents();
    const parts = contents instanceof PDFArray ? contents.asArray().map((part) => context.lookup(part)) : [contents];
    for (const part of parts) if (part) ofPages.set(part, page.Resources());
  }
  const ofGlyphs = new Map<PDFObject, PDFDict | undefined>();
  for (const { dict } of dicts)
    for (const glyph of dictAt(dict, "CharProcs")?.values() ?? []) {
      const stream = glyph instanceof PDFRef ? context.lookup(glyph) : glyph;
      if (stream) ofGlyphs.set(stream, dictAt(dict, "Resources"));
    }
  const programs: Program[] = [];
  const unreadable: number[] = [];
  for (const { stream, object } of streams) {
    const form = nameAt(stream.dict, "Subtype") === "/Form";
    const tile = stream.dict.lookup(name("PatternType"))?.toString() === "1";
    if (!form && !tile && !ofPages.has(stream) && !ofGlyphs.has(stream)) continue;
    // A form without resources of its own takes its page's (ISO 32000, 7.8.3).
    const resources =
      dictAt(stream.dict, "Resources") ?? ofPages.get(stream) ?? ofGlyphs.get(stream) ?? pages[0]?.Resources();
    const bytes = unpacked(stream);
    const operations = operationsOf(bytes);
    if (operations) programs.push({ object, stream, bytes, operations, resources });
    else unreadable.push(object);
  }
  return { programs, unreadable };
};
