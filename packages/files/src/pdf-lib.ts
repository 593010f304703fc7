// pdf-lib as the one file that it brings for browsers: 70 ms of processor to load. `import` of its 250 modules, each of which Node
// reads through for its exports first, took 280, in every process that opens or writes a PDF.
import { createRequire } from "node:module";
import type * as Library from "pdf-lib";

const library = createRequire(import.meta.url)("pdf-lib/dist/pdf-lib.js") as typeof Library;

export const {
  PDFArray,
  PDFContentStream,
  PDFContext,
  PDFDict,
  PDFDocument,
  PDFHexString,
  PDFName,
  PDFObjectCopier,
  PDFObjectParser,
  PDFRawStream,
  PDFRef,
  PDFString,
  PDFWriter,
} = library;
// Named, since its inferred type would name a file of the library that strangers' compilers do not find.
export const decodePDFRawStream: typeof Library.decodePDFRawStream = library.decodePDFRawStream;
export type PDFArray = Library.PDFArray;
export type PDFContentStream = Library.PDFContentStream;
export type PDFContext = Library.PDFContext;
export type PDFDict = Library.PDFDict;
export type PDFDocument = Library.PDFDocument;
export type PDFHexString = Library.PDFHexString;
export type PDFName = Library.PDFName;
export type PDFObject = Library.PDFObject;
export type PDFObjectCopier = Library.PDFObjectCopier;
export type PDFObjectParser = Library.PDFObjectParser;
export type PDFPageLeaf = Library.PDFPageLeaf;
export type PDFRawStream = Library.PDFRawStream;
export type PDFRef = Library.PDFRef;
export type PDFString = Library.PDFString;
export type PDFWriter = Library.PDFWriter;
