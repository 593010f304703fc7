// resvg, compiled to WebAssembly: it can open no file, ends with an exception where it would crash, and gives the same bytes on
// every machine. It sets text in the fonts it is handed and none else, and it is the second opinion on every drawing.
import { readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { pathToFileURL } from "node:url";
import type * as Wasm from "@resvg/resvg-wasm";

/** Fonts by their bytes (plain sfnt), and the family for whatever names none of them. */
export interface Fonts {
  readonly files: readonly Uint8Array[];
  readonly fallback: string;
}

type Module = Pick<typeof Wasm, "initWasm" | "Resvg">;

let loading: Promise<Module> | undefined;
let generation = 0;

const load = async (): Promise<Module> => {
  const require = createRequire(import.meta.url);
  const file = require.resolve("@resvg/resvg-wasm/index_bg.wasm");
  // A module that has trapped stays broken: each generation is loaded anew under an address of its own.
  const entry = new URL(`index.mjs?${generation}`, pathToFileURL(file)).href;
  const module = (await import(/* @vite-ignore */ entry)) as Module;
  await module.initWasm(await readFile(file));
  return module;
};

const optionsOf = ({ files, fallback }: Fonts): Wasm.ResvgRenderOptions => ({
  font: {
    fontBuffers: [...files],
    defaultFontFamily: fallback,
    serifFamily: fallback,
    sansSerifFamily: fallback,
    cursiveFamily: fallback,
    fantasyFamily: fallback,
    monospaceFamily: fallback,
  },
});

/** Does something with an SVG in the second renderer. Rejects with what the renderer has to say. */
const withDrawing = async <T>(
  svg: string,
  options: Wasm.ResvgRenderOptions,
  work: (drawing: InstanceType<Module["Resvg"]>) => T,
): Promise<T> => {
  loading ??= load();
  const module = await loading;
  let drawing: InstanceType<Module["Resvg"]> | undefined;
  try {
    drawing = new module.Resvg(svg, options);
    const result = work(drawing);
    drawing.free();
    return result;
  } catch (error) {
    if (error instanceof Error && /^(RuntimeError|RangeError)$/.test(error.name)) {
      generation++;
      loading = undefined;
    }
    throw error instanceof Error ? error : new Error(String(error));
  }
};

/** The SVG in its normal form: text as outlines, every style and length resolved. */
export const normalForm = (svg: string, fonts: Fonts): Promise<string> =>
  withDrawing(svg, optionsOf(fonts), (drawing) => drawing.toString());

/** Samples of the SVG on white paper, RGBA, as many pixels as its root says. */
export const drawAgain = (
  svg: string,
  fonts: Fonts,
): Promise<{ readonly width: number; readonly height: number; readonly rgba: Uint8Array }> =>
  withDrawing(svg, { ...optionsOf(fonts), background: "#ffffff" }, (drawing) => {
    const image = drawing.render();
    const { width, height } = image;
    const rgba = image.pixels.slice();
    image.free();
    return { width, height, rgba };
  });
