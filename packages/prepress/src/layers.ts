import { type Contour, grow, type Outline, ringsOf, subtract, type Um } from "@kitforme/geometry";
import { hidesBleed } from "./artwork/hides-bleed.ts";
import { identifyRaster } from "./artwork/identify.ts";
import type { Opened } from "./artwork/opened.ts";
import { overPaper } from "./artwork/over-paper.ts";
import { tilesUnder } from "./artwork/under-page.ts";
import type { BleedMade, PixelGrid, Tile } from "@kitforme/bleed";
import type { Layer } from "./prepared.ts";

type Rings = readonly Contour<"drawing">[];

/**
 * The layers of a picture with its bleed, bottom to top:
 *
 * - opaque picture: ring tiles within the reach, the designer's own file (JPEG, page) or pixels on top within `keep`
 * - picture with alpha: one opaque raster within the reach
 * - drawing kept as a page: the page first, the ring over its edge. Where a clip cuts shapes that lie over each other, a renderer
 *   smooths each by itself and lets the lower ones through; the ring is one picture and lets nothing through
 * - page with alpha: what the page itself does not paint of that raster, in a band along the outline; the page on top, but where it
 *   would hide its bleed: there the ring lies over it, as over a drawing
 */
export const layersOf = (
  opened: Opened,
  made: BleedMade,
  piece: { readonly parts: readonly Outline<"drawing">[]; readonly reach: readonly Outline<"drawing">[] },
): Layer[] => {
  const reach = ringsOf(piece.reach);
  const { flattened } = made;
  if (opened.original?.kind === "page" && opened.original.many) return ringOver(opened, made, piece);
  if (!flattened) {
    const keep = made.tiles.length > 0 ? withoutFringe(opened, piece.parts, made.carried) : made.keep;
    return [...made.tiles.map((tile) => rasterLayer(opened, tile, reach)), topLayer(opened, keep)];
  }
  if (opened.original?.kind !== "page") return [rasterLayer(opened, flattened, reach)];
  if (hidesBleed(flattened, opened.grid)) return ringOver(opened, made, piece);
  // Deeper inside the page paints over its own raster, and every edge of a letter would be drawn twice.
  const pixel = Math.max(flattened.box.width / flattened.width, flattened.box.height / flattened.height);
  const band = subtract(piece.reach, grow(piece.parts, -(made.carried + Math.ceil(6 * pixel))));
  const under = tilesUnder(flattened, opened.grid).map((tile) => rasterLayer(opened, tile, ringsOf(band)));
  return [...under, topLayer(opened, reach)];
};

/** Pixels inside the cut at which the ring begins to lie over a drawing: clear of the edge that the drawing has there. */
const OVER = 3;

const ringOver = (
  opened: Opened,
  made: BleedMade,
  { parts, reach }: { readonly parts: readonly Outline<"drawing">[]; readonly reach: readonly Outline<"drawing">[] },
): Layer[] => {
  const { flattened, tiles, carried, keep } = made;
  const pixel = Math.max(opened.grid.box.width / opened.grid.width, opened.grid.box.height / opened.grid.height);
  const band = ringsOf(subtract(reach, grow(parts, -(carried + Math.ceil(OVER * pixel)))));
  const ring = flattened ? tilesUnder(flattened, opened.grid) : tiles;
  const clip = flattened ? ringsOf(reach) : tiles.length > 0 ? ringsOf(parts) : keep;
  return [topLayer(opened, clip), ...ring.map((tile) => rasterLayer(opened, tile, band))];
};

/** A picture from which no bleed can be made: as it is, on paper. */
export const plainLayers = (opened: Opened, clip: Rings): Layer[] => [
  opened.original ? topLayer(opened, clip) : rasterLayer(opened, overPaper(opened.grid), clip),
];

/**
 * Pixels at the edge of opaque artwork that are half page: as far as the bleed reaches in to find pure colour, and one more for
 * renderers that paint whatever a clip touches (with 1 and 2 whole pixels Ghostscript let 131 pixels of a disc's fringe
 * through, with 1.5 still 18).
 */
const FRINGE = { alpha: 0, clean: 2, jpeg: 3 } as const;

/**
 * Where the artwork is shown over its ring: less the fringe that its edge has with the page around it, which would stand as
 * a light line along every cut that lands outside, and less the gap where it stops short of the cut. The ring has the very
 * pixels of the artwork there, and pure colour only in place of fringe and gap; it goes 4 pixels farther under than the gap,
 * so 1 or 2 remain against a seam.
 */
const withoutFringe = ({ grid, source }: Opened, parts: readonly Outline<"drawing">[], carried: Um): Rings => {
  const pixel = Math.max(grid.box.width / grid.width, grid.box.height / grid.height);
  return ringsOf(grow(parts, -(carried + Math.ceil(FRINGE[source] * pixel))));
};

const topLayer = (opened: Opened, clip: Rings): Layer => {
  const { original } = opened;
  if (!original) return rasterLayer(opened, opened.grid, clip);
  return original.kind === "page"
    ? { kind: "page", page: original.page, box: original.box, clip }
    : { kind: "raster", raster: original.raster, box: original.box, clip };
};

const rasterLayer = (
  { space, profile }: Opened,
  { width, height, box, data }: Tile | PixelGrid,
  clip: Rings,
): Layer => {
  if (data instanceof Uint16Array) throw new Error("16 bits reached the layers: pictures are opened with 8");
  const raster = identifyRaster({
    width,
    height,
    space,
    ...(profile ? { profile } : {}),
    data: { kind: "raw", bytes: data },
  });
  return { kind: "raster", raster, box, clip };
};
