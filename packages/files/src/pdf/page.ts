import type { Matrix } from "@kitforme/geometry";
import type { Page } from "@kitforme/prepress";
import {
  decodePDFRawStream,
  PDFArray,
  type PDFContext,
  PDFContentStream,
  PDFDict,
  PDFDocument,
  PDFName,
  type PDFObject,
  PDFObjectCopier,
  type PDFPageLeaf,
  PDFRawStream,
  PDFRef,
} from "../pdf-lib.ts";
import { flateStream } from "./image.ts";

/** A page as a form, and the matrix that takes its visible box, turned upright, to the unit square (y up). */
export interface EmbeddedPage {
  readonly ref: PDFRef;
  readonly toUnit: Matrix;
  /** It has transparency, so the sheet needs a blending space. */
  readonly transparent: boolean;
}

/** Layers (optional content) that came with pages; all must be known to the document, or hidden ones would show. */
export interface Layers {
  readonly all: PDFRef[];
  readonly hidden: PDFRef[];
}

/**
 * Pages of customers' documents as Form XObjects, each embedded once. Written on the object level, because pdf-lib's own
 * `embedPage` takes the MediaBox, forgets /Rotate and the transparency group, and leaves layers unknown to the document.
 * What fills the artwork's box is the CropBox as a viewer shows it, like the rendering that was checked.
 */
export class Pages {
  readonly layers: Layers = { all: [], hidden: [] };
  private readonly context: PDFContext;
  private readonly sources = new Map<Uint8Array, { document: PDFDocument; copier: PDFObjectCopier }>();
  private readonly embedded = new Map<string, EmbeddedPage>();

  constructor(context: PDFContext) {
    this.context = context;
  }

  async embed(page: Page): Promise<EmbeddedPage> {
    const known = this.embedded.get(page.id);
    if (known) return known;
    const { document, copier } = await this.source(page.bytes);
    const { node } = document.getPage(page.index);
    const box = visibleBox(node);
    const group = node.lookupMaybe(PDFName.of("Group"), PDFDict);
    const resources = node.Resources();
    const entries: Record<string, PDFObject> = {
      Type: PDFName.of("XObject"),
      Subtype: PDFName.of("Form"),
      BBox: this.context.obj([box.x, box.y, box.x + box.width, box.y + box.height]),
      Resources: resources ? copier.copy(resources) : this.context.obj({}),
    };
    if (group) entries["Group"] = copier.copy(group);
    const ref = this.context.register(await flateStream(this.context, contentOf(node), entries));
    const made = { ref, toUnit: upright(box, node.Rotate()?.asNumber() ?? 0), transparent: group !== undefined };
    this.embedded.set(page.id, made);
    return made;
  }

  private async source(bytes: Uint8Array): Promise<{ document: PDFDocument; copier: PDFObjectCopier }> {
    const known = this.sources.get(bytes);
    if (known) return known;
    const document = await PDFDocument.load(bytes, { updateMetadata: false });
    const made = { document, copier: PDFObjectCopier.for(document.context, this.context) };
    this.sources.set(bytes, made);
    const properties = document.catalog.lookupMaybe(PDFName.of("OCProperties"), PDFDict);
    const config = properties?.lookupMaybe(PDFName.of("D"), PDFDict);
    const copyAll = (list: PDFArray | undefined, into: PDFRef[]): void => {
      for (const ref of list?.asArray() ?? []) if (ref instanceof PDFRef) into.push(made.copier.copy(ref));
    };
    copyAll(properties?.lookupMaybe(PDFName.of("OCGs"), PDFArray), this.layers.all);
    copyAll(config?.lookupMaybe(PDFName.of("OFF"), PDFArray), this.layers.hidden);
    return made;
  }
}

interface Box {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

/** CropBox within MediaBox; a rectangle may name any two opposite corners. */
const visibleBox = (node: PDFPageLeaf): Box => {
  const corners = (array: PDFArray): readonly [number, number, number, number] => {
    const { x, y, width, height } = array.asRectangle();
    return [Math.min(x, x + width), Math.min(y, y + height), Math.max(x, x + width), Math.max(y, y + height)];
  };
  const media = corners(node.MediaBox());
  const crop = corners(node.CropBox() ?? node.MediaBox());
  const x = Math.max(media[0], crop[0]);
  const y = Math.max(media[1], crop[1]);
  return { x, y, width: Math.min(media[2], crop[2]) - x, height: Math.min(media[3], crop[3]) - y };
};

/** Several content streams are one program: a space between them, since a token may not span two. */
const contentOf = (node: PDFPageLeaf): Uint8Array => {
  const contents = node.Contents();
  const streams = contents instanceof PDFArray ? contents.asArray().map((s) => node.context.lookup(s)) : [contents];
  const parts = streams.flatMap((stream): Uint8Array[] => {
    if (stream instanceof PDFRawStream) return [decodePDFRawStream(stream).decode()];
    return stream instanceof PDFContentStream ? [stream.getUnencodedContents()] : [];
  });
  return Buffer.concat(parts.flatMap((part) => [part, Buffer.from("\n")]));
};

/** The visible box, turned clockwise by /Rotate, to the unit square. */
const upright = ({ x, y, width, height }: Box, rotate: number): Matrix => {
  const turn = ((rotate % 360) + 360) % 360;
  const [u, v] = [x / width, y / height];
  if (turn === 90) return [0, -1 / width, 1 / height, 0, -v, 1 + u];
  if (turn === 180) return [-1 / width, 0, 0, -1 / height, 1 + u, 1 + v];
  if (turn === 270) return [0, 1 / width, -1 / height, 0, 1 + v, -u];
  return [1 / width, 0, 0, 1 / height, -u, -v];
};
