import type { Matrix, Point, Rect } from "@kitforme/geometry";
import type { PageRaster } from "@kitforme/prepress";
import type { Look } from "../proof/drawing-threads.ts";

/** Pixels per inch at which print is looked at: a disc's middle is found to 0.01 mm, a shift of 0.3 mm is nearly two pixels. */
export const SIGHT = 150;

/**
 * Where two shapes meet within a pixel, each covers half of it and what lies beneath shines through by a quarter, in every
 * renderer: paper, or a shape of any colour. Such a seam is a line one pixel wide.
 */
export const SEAM = 0.25;

/** Part of a page as pixels, with the way between them and micrometres of the page (y up). */
export interface Seen extends PageRaster {
  /** Pixels to the micrometre, across and down. */
  readonly scale: readonly [x: number, y: number];
  /** Pixels from the page's top-left corner to this part's. */
  readonly left: number;
  readonly top: number;
  /** Micrometres. */
  readonly pageWidth: number;
  readonly pageHeight: number;
}

/** A page of the print PDF as far as it was asked for, and what its file says of it. */
export interface SeenPage {
  /** Points. */
  readonly page: { readonly width: number; readonly height: number };
  readonly count: number;
  readonly parts: readonly Seen[];
}

/** Looks at parts of a page of a print PDF. Micrometres of the sheet. */
export const lookAt = async (
  look: Look,
  print: Uint8Array,
  index: number,
  size: { readonly width: number; readonly height: number },
  rects: readonly Rect[],
  { transparent = false, sight = SIGHT }: { readonly transparent?: boolean; readonly sight?: number } = {},
): Promise<SeenPage> => {
  const width = Math.max(1, Math.round((size.width * sight) / 25_400));
  const height = Math.max(1, Math.round((size.height * sight) / 25_400));
  const scale = [width / size.width, height / size.height] as const;
  const regions = rects.map((r) => {
    const x = Math.max(0, Math.floor(r.x * scale[0]));
    const y = Math.max(0, Math.floor((size.height - r.y - r.height) * scale[1]));
    return {
      x,
      y,
      width: Math.min(width, Math.ceil((r.x + r.width) * scale[0])) - x,
      height: Math.min(height, Math.ceil((size.height - r.y) * scale[1])) - y,
    };
  });
  const { page, count, rasters } = await look(print, index, { width, height, transparent }, regions);
  return {
    page,
    count,
    parts: rasters.map((raster, i) => ({
      ...raster,
      scale,
      left: regions[i]?.x ?? 0,
      top: regions[i]?.y ?? 0,
      pageWidth: size.width,
      pageHeight: size.height,
    })),
  };
};

/** Middle of a pixel in micrometres of the page. */
export const pointOf = ({ scale, left, top, pageHeight }: Seen, column: number, row: number): Point<"sheet"> => ({
  x: (left + column + 0.5) / scale[0],
  y: pageHeight - (top + row + 0.5) / scale[1],
});

/** Where the pixel of a point begins in the data; -1 outside. */
export const offsetAt = (seen: Seen, x: number, y: number): number => {
  const column = Math.floor(x * seen.scale[0]) - seen.left;
  const row = Math.floor((seen.pageHeight - y) * seen.scale[1]) - seen.top;
  return column < 0 || row < 0 || column >= seen.width || row >= seen.height ? -1 : (row * seen.width + column) * 4;
};

/** How dark a pixel is, 0 for paper to 1 for no light at all. */
export const darkness = (data: Uint8Array, at: number): number =>
  1 - ((data[at] as number) + (data[at + 1] as number) + (data[at + 2] as number)) / 765;

/** Micrometres of the page to pixels of the part. */
export const pixelsOf = ({ scale, left, top, pageHeight }: Seen): Matrix => [
  scale[0],
  0,
  0,
  -scale[1],
  -left,
  pageHeight * scale[1] - top,
];

/** A part of a part, in micrometres of the page. */
export const cropped = (seen: Seen, { x, y, width, height }: Rect): Seen => {
  const [left, right] = [x, x + width].map((at) => at * seen.scale[0] - seen.left) as [number, number];
  const [top, bottom] = [y + height, y].map((at) => (seen.pageHeight - at) * seen.scale[1] - seen.top) as [
    number,
    number,
  ];
  const [from, first] = [Math.max(0, Math.floor(left)), Math.max(0, Math.floor(top))];
  const wide = Math.max(0, Math.min(seen.width, Math.ceil(right)) - from);
  const tall = Math.max(0, Math.min(seen.height, Math.ceil(bottom)) - first);
  const data = new Uint8Array(wide * tall * 4);
  for (let row = 0; row < tall; row++) {
    const start = 4 * ((first + row) * seen.width + from);
    data.set(seen.data.subarray(start, start + 4 * wide), 4 * row * wide);
  }
  return { ...seen, width: wide, height: tall, data, left: seen.left + from, top: seen.top + first };
};
