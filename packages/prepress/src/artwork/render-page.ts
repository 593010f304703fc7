import { type OpenPage, withPage } from "./pdf/pdfium.ts";

/** How large a PDF page is rendered, and which part of it. */
export interface RenderOptions {
  /** Pixels that the whole page becomes. */
  readonly width: number;
  readonly height: number;
  /** The part wanted, in those pixels from the top-left; may reach beyond the page. Left out: the whole page. */
  readonly region?: { readonly x: number; readonly y: number; readonly width: number; readonly height: number };
  /** Paper is left transparent instead of white. */
  readonly transparent?: boolean;
}

/** RGBA of 8 bits, straight alpha, rows from the top, no padding. */
export interface PageRaster {
  readonly width: number;
  readonly height: number;
  readonly data: Uint8Array;
}

// fpdfview.h: FPDF_PRINTING (layers by their print state, no screen hinting) and FPDF_REVERSE_BYTE_ORDER (RGBA).
const FLAGS = 0x800 | 0x10;
const RGBA = 4;
/** Pixels drawn at once: PDFium's memory grows with it and is never given back. */
const STRIP = 8_000_000;

/** Draws a region of an open page in strips. PDFium shifts the page by whole pixels, so strips meet exactly. */
export const drawPage = ({ module, page }: OpenPage, options: RenderOptions): PageRaster => {
  const { width, height } = options;
  const region = options.region ?? { x: 0, y: 0, width, height };
  const data = new Uint8Array(region.width * region.height * 4);
  const rows = Math.max(1, Math.min(region.height, Math.floor(STRIP / region.width)));
  const memory = module.wasmExports.malloc(region.width * rows * 4);
  if (memory === 0) throw new Error(`no memory to draw ${region.width} x ${rows} pixels`);
  try {
    for (let top = 0; top < region.height; top += rows) {
      const tall = Math.min(rows, region.height - top);
      const bitmap = module._FPDFBitmap_CreateEx(region.width, tall, RGBA, memory, region.width * 4);
      module._FPDFBitmap_FillRect(bitmap, 0, 0, region.width, tall, options.transparent ? 0 : 0xffffffff);
      module._FPDF_RenderPageBitmap(bitmap, page, -region.x, -region.y - top, width, height, 0, FLAGS);
      module._FPDFBitmap_Destroy(bitmap);
      // HEAPU8 is read anew: drawing may have grown, and so replaced, the memory behind it.
      data.set(module.HEAPU8.subarray(memory, memory + region.width * tall * 4), top * region.width * 4);
    }
  } finally {
    module.wasmExports.free(memory);
  }
  return { width: region.width, height: region.height, data };
};

/**
 * Draws a page of a PDF of ours at an exact pixel size, as it prints: annotations left out, layers by their print state.
 * Customers' files go through `openPage`, which turns what is wrong with them into findings; here it is our bug and thrown.
 *
 * @param index page number from 0
 */
export async function renderPage(bytes: Uint8Array, index: number, options: RenderOptions): Promise<PageRaster> {
  const drawn = await withPage(bytes, index, (page) => drawPage(page, options));
  if ("refusal" in drawn) throw new Error(`page ${index + 1} cannot be drawn: ${drawn.refusal}`);
  return drawn.value;
}

/** A page of ours with several regions of it drawn; the page is opened once. */
export interface PageRegions {
  /** Size of the page as its file states it, points. */
  readonly page: { readonly width: number; readonly height: number };
  /** Pages of the document. */
  readonly count: number;
  readonly rasters: readonly PageRaster[];
}

/** Draws several regions of one page of a PDF of ours: what is not asked for is not drawn. See `renderPage`. */
export async function renderRegions(
  bytes: Uint8Array,
  index: number,
  { width, height, transparent = false }: Pick<RenderOptions, "width" | "height" | "transparent">,
  regions: readonly NonNullable<RenderOptions["region"]>[],
): Promise<PageRegions> {
  const drawn = await withPage(bytes, index, (page) => ({
    page: { width: page.width, height: page.height },
    count: page.count,
    rasters: regions.map((region) => drawPage(page, { width, height, transparent, region })),
  }));
  if ("refusal" in drawn) throw new Error(`page ${index + 1} cannot be drawn: ${drawn.refusal}`);
  return drawn.value;
}
