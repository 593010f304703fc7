import { PDFiumLibrary } from "@hyzyla/pdfium";

/** The part of the wrapped module that the wrapper's own types hide. Names are PDFium's. */
interface Module {
  readonly _FPDF_LoadMemDocument: (bytes: number, size: number, password: number) => number;
  readonly _FPDF_GetLastError: () => number;
  readonly _FPDF_GetPageCount: (document: number) => number;
  readonly _FPDF_GetSecurityHandlerRevision: (document: number) => number;
  readonly _FPDF_LoadPage: (document: number, index: number) => number;
  readonly _FPDF_GetPageWidth: (page: number) => number;
  readonly _FPDF_GetPageHeight: (page: number) => number;
  readonly _FPDF_ClosePage: (page: number) => void;
  readonly _FPDF_CloseDocument: (document: number) => void;
  readonly _FPDFBitmap_CreateEx: (
    width: number,
    height: number,
    format: number,
    memory: number,
    stride: number,
  ) => number;
  readonly _FPDFBitmap_FillRect: (
    bitmap: number,
    left: number,
    top: number,
    width: number,
    height: number,
    colour: number,
  ) => void;
  readonly _FPDF_RenderPageBitmap: (
    bitmap: number,
    page: number,
    left: number,
    top: number,
    width: number,
    height: number,
    turn: number,
    flags: number,
  ) => void;
  readonly _FPDFBitmap_Destroy: (bitmap: number) => void;
  readonly wasmExports: { readonly malloc: (size: number) => number; readonly free: (at: number) => void };
  readonly HEAPU8: Uint8Array;
}

/** Why a PDF cannot be opened. */
export type Refusal = "damaged" | "encrypted" | "no-page";

export interface OpenPage {
  readonly module: Module;
  readonly page: number;
  /** Pages of the document. */
  readonly count: number;
  /** Size of the page as shown (CropBox, turned by /Rotate, without UserUnit), points, not rounded. */
  readonly width: number;
  readonly height: number;
}

let loaded: Promise<Module> | undefined;
const load = (): Promise<Module> => {
  loaded ??= PDFiumLibrary.init().then((library) => (library as unknown as { readonly module: Module }).module);
  return loaded;
};

const WRONG_PASSWORD = 4;
const UNKNOWN_SECURITY = 5;

/**
 * Opens one page, lends it to `use` and closes everything again. `use` is synchronous: the module is one for the whole
 * process and nothing of it may be held across an await.
 *
 * We go below the wrapper's `render`: it truncates page sizes to whole points, closes the page with every call, smooths
 * letters for screens with coloured sub-pixels, and cannot draw a region.
 */
export async function withPage<T>(
  bytes: Uint8Array,
  index: number,
  use: (page: OpenPage) => T,
): Promise<{ readonly value: T } | { readonly refusal: Refusal }> {
  const module = await load();
  const memory = module.wasmExports.malloc(bytes.length);
  if (memory === 0) throw new Error(`no memory for a PDF of ${bytes.length} bytes`);
  let document = 0;
  let page = 0;
  let trapped = false;
  try {
    module.HEAPU8.set(bytes, memory);
    document = module._FPDF_LoadMemDocument(memory, bytes.length, 0);
    if (document === 0) {
      const error = module._FPDF_GetLastError();
      return { refusal: error === WRONG_PASSWORD || error === UNKNOWN_SECURITY ? "encrypted" : "damaged" };
    }
    // Files that open with the empty password are encrypted all the same, and no PDF library may take their pages over.
    if (module._FPDF_GetSecurityHandlerRevision(document) >= 0) return { refusal: "encrypted" };
    const count = module._FPDF_GetPageCount(document);
    if (index >= count) return { refusal: "no-page" };
    page = module._FPDF_LoadPage(document, index);
    if (page === 0) return { refusal: "damaged" };
    const width = module._FPDF_GetPageWidth(page);
    const height = module._FPDF_GetPageHeight(page);
    return { value: use({ module, page, count, width, height }) };
  } catch (error) {
    // A trap leaves the module's memory in an unknown state: the next caller gets a fresh one.
    if ((error as Error).name !== "RuntimeError") throw error;
    trapped = true;
    loaded = undefined;
    return { refusal: "damaged" };
  } finally {
    if (!trapped) {
      if (page !== 0) module._FPDF_ClosePage(page);
      if (document !== 0) module._FPDF_CloseDocument(document);
      module.wasmExports.free(memory);
    }
  }
}
