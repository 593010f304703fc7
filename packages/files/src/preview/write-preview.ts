import type { Rect } from "@kitforme/geometry";
import { encodePng } from "@kitforme/prepress";
import { type CopySet, drawPiece, type PreviewBase } from "./base.ts";

/**
 * One copy of a piece as it looks when cut: its words, codes and pictures over the piece's base, drawn as the print PDF has them.
 *
 * @returns PNG bytes with alpha, of the base's size; the same copy gives the same bytes
 */
export const writePreview = async (base: PreviewBase, copy: CopySet): Promise<Uint8Array> => {
  const { width, height } = base;
  return encodePng(await withWords(base, copy), width, height, 4);
};

/** The samples of it. */
export const withWords = async (base: PreviewBase, copy: CopySet): Promise<Uint8Array> => {
  const { prepared, press, side, box, width, height } = base;
  const region = regionOf(base, copy);
  if (!press || !region) return base.pixels;
  const { back } = prepared;
  const bare = { ...prepared, layers: [], ...(back ? { back: { ...back, layers: [] } } : {}) };
  const words = (await drawPiece(bare, press, box, { width, height }, copy, side, region)).data;
  // A Buffer's own slice would be the same memory.
  const pixels = new Uint8Array(base.pixels);
  for (let row = 0; row < region.height; row++) {
    let from = row * region.width * 4;
    let to = ((region.y + row) * width + region.x) * 4;
    for (let column = 0; column < region.width; column++, from += 4, to += 4) {
      const cover = words[from + 3] as number;
      if (cover === 0) continue;
      for (let channel = 0; channel < 3; channel++) {
        const under = pixels[to + channel] as number;
        pixels[to + channel] = Math.round(under + (((words[from + channel] as number) - under) * cover) / 255);
      }
    }
  }
  return pixels;
};

/** The pixels that a copy's words may change; nothing for a copy without any. */
const regionOf = ({ side, box, width, height }: PreviewBase, { texts, pictures }: CopySet) => {
  const shown = (set: { readonly side?: "back" }): boolean => (set.side ?? "front") === side;
  const all: Rect[] = pictures.filter(shown).map(({ layer }) => layer.box);
  for (const { box: ink, rim, ground } of texts.filter(shown)) {
    // The quiet zone of a code is never wider than the code.
    const around = (rim?.width ?? 0) + (ground ? Math.max(ink.width, ink.height) : 0);
    all.push({
      x: ink.x - around,
      y: ink.y - around,
      width: ink.width + 2 * around,
      height: ink.height + 2 * around,
    });
  }
  if (all.length === 0) return undefined;
  const boxes = side === "front" ? all : all.map((b) => ({ ...b, x: 2 * box.x + box.width - b.x - b.width }));
  const [sx, sy] = [width / box.width, height / box.height];
  const left = Math.max(0, Math.floor((Math.min(...boxes.map((b) => b.x)) - box.x) * sx) - 2);
  const top = Math.max(0, Math.floor((Math.min(...boxes.map((b) => b.y)) - box.y) * sy) - 2);
  const right = Math.min(width, Math.ceil((Math.max(...boxes.map((b) => b.x + b.width)) - box.x) * sx) + 2);
  const bottom = Math.min(height, Math.ceil((Math.max(...boxes.map((b) => b.y + b.height)) - box.y) * sy) + 2);
  return right > left && bottom > top ? { x: left, y: top, width: right - left, height: bottom - top } : undefined;
};
