// A store of kits in memory that remembers what was opened, and a shop and kits of a few lines for it.
import type { KitStore } from "@kitforme/run";
import { svgMm } from "./kits.ts";

export interface Shelf extends KitStore {
  /** `folder/path` of every file that was opened, as often as it was. */
  readonly opened: string[];
}

/** Kits by their folders: what kit.json says (or its text), and the other files. */
export const shelf = (
  kits: Readonly<Record<string, Readonly<Record<string, unknown>>>>,
  listed: readonly string[] = Object.keys(kits).sort(),
): Shelf => {
  const opened: string[] = [];
  return {
    opened,
    folders: () => Promise.resolve(listed),
    read(folder, path) {
      opened.push(`${folder}/${path}`);
      const file = kits[folder]?.[path];
      if (file === undefined || file instanceof Uint8Array) return Promise.resolve(file);
      return Promise.resolve(new TextEncoder().encode(typeof file === "string" ? file : JSON.stringify(file)));
    },
  };
};

export const MARGINS = { top: 5, right: 5, bottom: 8, left: 5 };

export const SHOP = {
  stocks: {
    card: { title: "Card", sheet: [210, 297], press: "digital", cutter: "flatbed" },
    board: { title: "Board", sheet: [210, 297], press: null, cutter: "flatbed" },
  },
  presses: { digital: { margins: MARGINS, resolution: 150, bleed: 3, colour: "cmyk", register: 0.5 } },
  cutters: {
    flatbed: {
      formats: ["svg"],
      tolerance: 1,
      clearance: 1,
      margins: MARGINS,
      marks: { shape: "disc", size: 5, clear: 2 },
      tools: { cutting: { pen: 1 } },
    },
  },
  setup: { sheetChange: 1, newLayout: 1 },
};

/** A printed rectangle, or one that is only cut. */
export const card = (width: number, height: number): string =>
  svgMm(
    width,
    height,
    `<rect id="art" width="${width}" height="${height}" fill="#2f7f8a"/><path id="cut" d="M0 0H${width}V${height}H0Z"/>`,
  );

export const pieceForm = (piece: string, more: object = {}): Record<string, unknown> => ({
  piece,
  drawing: `${piece}.svg`,
  stock: "card",
  lines: { cutting: "#cut" },
  artwork: "#art",
  ...more,
});

export const named = (file: string, content: unknown) => ({
  file,
  text: typeof content === "string" ? content : JSON.stringify(content),
});
