import { mm } from "@kitforme/geometry";
import { type Level, placesOf } from "@kitforme/kit";
import type { PreviewBase } from "./base.ts";
import type { Flaw } from "./flaw.ts";

/** Where a finding's number stands, in pixels of the picture. */
export interface Pointer {
  readonly number: number;
  readonly level: Level;
  readonly disc: readonly [x: number, y: number];
  /** The point it is about; absent for what has none. */
  readonly at?: readonly [x: number, y: number];
  /** The slot it is about. */
  readonly slot?: { readonly x: number; readonly y: number; readonly width: number; readonly height: number };
}

interface Frame {
  readonly width: number;
  readonly height: number;
  /** Where the piece's picture lies in it. */
  readonly left: number;
  readonly top: number;
  /** Of a disc. */
  readonly radius: number;
}

/** Discs are tried around their point in rings of so many directions, up to so many rings. */
const DIRECTIONS = 16;
const RINGS = 24;

/** A disc for every place of every finding on this piece, near its point and over no other disc. */
export const pointersOf = (base: PreviewBase, flaws: readonly Flaw[], frame: Frame): Pointer[] => {
  const { radius } = frame;
  const { piece } = base.prepared;
  const [sx, sy] = [base.width / base.box.width, base.height / base.box.height];
  const pixel = (x: number, y: number): readonly [number, number] => [
    frame.left + (x - base.box.x) * sx,
    frame.top + (y - base.box.y) * sy,
  ];
  const taken: (readonly [number, number])[] = [];
  const isFree = ([x, y]: readonly [number, number]): boolean =>
    x >= radius + 1 &&
    y >= radius + 1 &&
    x <= frame.width - radius - 1 &&
    y <= frame.height - radius - 1 &&
    taken.every(([tx, ty]) => Math.hypot(tx - x, ty - y) >= 2 * radius + 3);
  const near = ([x, y]: readonly [number, number]): readonly [number, number] => {
    for (let ring = 0; ring < RINGS; ring++)
      for (let k = 0; k < DIRECTIONS; k++) {
        // Up and to the right first, then around.
        const turn = ((k - 2) * 2 * Math.PI) / DIRECTIONS;
        const away = radius * (1.9 + ring);
        const place = [x + away * Math.cos(turn), y + away * Math.sin(turn)] as const;
        if (isFree(place)) return place;
      }
    return [Math.max(radius, Math.min(frame.width - radius, x)), Math.max(radius, Math.min(frame.height - radius, y))];
  };
  const inRow = (): readonly [number, number] => {
    for (let x = radius + 6; x <= frame.width - radius; x += 2 * radius + 6) {
      const place = [x, radius + 6] as const;
      if (isFree(place)) return place;
    }
    return near([radius + 6, radius + 6]);
  };
  const pointers: Pointer[] = [];
  const seen = new Set<string>();
  const add = (pointer: Omit<Pointer, "disc">, disc: readonly [number, number]): void => {
    taken.push(disc);
    pointers.push({ ...pointer, disc });
  };
  for (const { number, finding } of flaws)
    for (const place of placesOf(finding)) {
      if (place.piece !== piece.piece) continue;
      const key = JSON.stringify([number, place.slot, place.at]);
      if (seen.has(key)) continue;
      seen.add(key);
      const { level } = finding;
      const slot = piece.slots.find((s) => s.slot === place.slot)?.box;
      const box = slot && {
        x: pixel(slot.x, slot.y)[0],
        y: pixel(slot.x, slot.y)[1],
        width: slot.width * sx,
        height: slot.height * sy,
      };
      const framed = box ? { slot: box } : {};
      const at = place.at && pixel(mm(place.at[0]), mm(place.at[1]));
      if (at) add({ number, level, at, ...framed }, near(at));
      else if (box) add({ number, level, ...framed }, onCorner(box, isFree, near));
      else add({ number, level }, inRow());
    }
  return pointers;
};

/** On the frame's corner where that is free. */
const onCorner = (
  { x, y, width, height }: NonNullable<Pointer["slot"]>,
  isFree: (place: readonly [number, number]) => boolean,
  near: (place: readonly [number, number]) => readonly [number, number],
): readonly [number, number] =>
  (
    [
      [x, y],
      [x + width, y],
      [x + width, y + height],
      [x, y + height],
    ] as const
  ).find(isFree) ?? near([x, y]);
