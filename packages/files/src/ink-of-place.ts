import { bounds, grow, outlinesArea, outlinesBounds, type Rect, repaired } from "@kitforme/geometry";
import type { CoverMap, InkMap, SetText } from "@kitforme/prepress";
import type { Placed } from "@kitforme/sheet";
import { areaOfPath } from "./area-of-path.ts";
import { type Plates, platesOfInk } from "./plates-of-ink.ts";
import { ringsOfPath } from "./rings-of-path.ts";

/** Ink of one side of a placement: square millimetres of each plate, and the most percent on a square millimetre. */
export interface PlaceInk {
  readonly plates: Plates;
  /** Spot inks with plates of their own, square millimetres by name. */
  readonly spots: Readonly<Record<string, number>>;
  readonly max: number;
}

/** Side of a square of the maps, micrometres. */
const SQUARE = 1000;

/** Squares of a millimetre with four inks each, in percent. */
interface Cells {
  /** Upper left corner, drawing space. */
  readonly x: number;
  readonly y: number;
  readonly across: number;
  readonly down: number;
  readonly inks: Float64Array;
  /** Spot inks, one number a square. */
  readonly spots: readonly { readonly name: string; readonly inks: Float64Array }[];
}

/** Artwork, pictures and texts of a side, laid over each other square by square. Letters are spread evenly over their box. */
export const inkOfPlace = ({ prepared, texts, pictures = [] }: Placed, side: "front" | "back"): PlaceInk => {
  const face = side === "front" ? prepared : prepared.back;
  const mirror = side === "back" ? prepared.back?.mirror : undefined;
  const own = <T extends { readonly side?: "back" }>(all: readonly T[]): readonly T[] =>
    all.filter((one) => (one.side ?? "front") === side);
  const covers = own(pictures).flatMap(({ ink }) => ink ?? []);
  const words = own(texts).flatMap(wordsOf);
  const map = face?.ink;
  if (covers.length === 0 && words.length === 0)
    return map
      ? {
          plates: [...map.plates],
          spots: Object.fromEntries((map.spots ?? []).map(({ name, area }) => [name, area])),
          max: mostOf(map),
        }
      : { plates: [0, 0, 0, 0], spots: {}, max: 0 };
  const cells = cellsOf(map, mirror, [...covers.map(({ box }) => box), ...words.map(({ box }) => box)]);
  for (const cover of covers) hide(cells, cover);
  for (const word of words) write(cells, word);
  const plates: Plates = [0, 0, 0, 0];
  let max = 0;
  for (let at = 0; at < cells.inks.length; at += 4) {
    let sum = 0;
    for (let plate = 0; plate < 4; plate++) {
      const ink = cells.inks[at + plate] as number;
      plates[plate] = (plates[plate] as number) + ink / 100;
      sum += ink;
    }
    for (const { inks } of cells.spots) sum += inks[at / 4] as number;
    if (sum > max) max = sum;
  }
  const spots = cells.spots.map(({ name, inks }) => [name, inks.reduce((sum, ink) => sum + ink / 100, 0)]);
  return { plates, spots: Object.fromEntries(spots) as Record<string, number>, max };
};

const most = new WeakMap<InkMap, number>();
/** The heaviest square of artwork by itself. */
const mostOf = (map: InkMap): number => {
  const known = most.get(map);
  if (known !== undefined) return known;
  let max = 0;
  const { cells, spots = [] } = map;
  for (let at = 0; at < cells.length; at += 4) {
    const sum = spots.reduce(
      (ink, spot) => ink + (spot.cells[at / 4] as number),
      (cells[at] as number) + (cells[at + 1] as number) + (cells[at + 2] as number) + (cells[at + 3] as number),
    );
    if (sum > max) max = sum;
  }
  most.set(map, max / 10);
  return max / 10;
};

/** The artwork's squares, turned over where it prints mirrored, and as many more as what lies over it needs. */
const cellsOf = (map: InkMap | undefined, mirror: number | undefined, over: readonly Rect[]): Cells => {
  const left = map && (mirror === undefined ? map.box.x : mirror - map.box.x - map.across * SQUARE);
  const [x0, y0] = [left ?? over[0]?.x ?? 0, map?.box.y ?? over[0]?.y ?? 0];
  const boxes = map ? [...over, { x: x0, y: y0, width: map.across * SQUARE, height: map.down * SQUARE }] : over;
  const low = (from: number, at: number): number => Math.floor((at - from) / SQUARE);
  const [west, north] = [Math.min(...boxes.map(({ x }) => low(x0, x))), Math.min(...boxes.map(({ y }) => low(y0, y)))];
  const across = Math.max(...boxes.map(({ x, width }) => Math.ceil((x + width - x0) / SQUARE))) - west;
  const down = Math.max(...boxes.map(({ y, height }) => Math.ceil((y + height - y0) / SQUARE))) - north;
  const inks = new Float64Array(4 * across * down);
  const spots = (map?.spots ?? []).map(({ name }) => ({ name, inks: new Float64Array(across * down) }));
  if (map)
    for (let row = 0; row < map.down; row++)
      for (let column = 0; column < map.across; column++) {
        const from = 4 * (row * map.across + (mirror === undefined ? column : map.across - 1 - column));
        const to = 4 * ((row - north) * across + column - west);
        for (let plate = 0; plate < 4; plate++) inks[to + plate] = (map.cells[from + plate] as number) / 10;
        for (const [i, spot] of spots.entries()) spot.inks[to / 4] = (map.spots?.[i]?.cells[from / 4] as number) / 10;
      }
  return { x: x0 + west * SQUARE, y: y0 + north * SQUARE, across, down, inks, spots };
};

/** A picture over what lies there. */
const hide = ({ x, y, across, down, inks, spots }: Cells, picture: CoverMap): void => {
  const [left, top] = [Math.round((picture.box.x - x) / SQUARE), Math.round((picture.box.y - y) / SQUARE)];
  for (let row = 0; row < picture.down; row++)
    for (let column = 0; column < picture.across; column++) {
      const [u, v] = [column + left, row + top];
      if (u < 0 || v < 0 || u >= across || v >= down) continue;
      const from = row * picture.across + column;
      const rest = 1 - (picture.cover[from] as number) / 16;
      const to = 4 * (v * across + u);
      for (const spot of spots) spot.inks[to / 4] = (spot.inks[to / 4] as number) * rest;
      for (let plate = 0; plate < 4; plate++)
        inks[to + plate] = (inks[to + plate] as number) * rest + (picture.cells[4 * from + plate] as number) / 10;
    }
};

/** Ink spread evenly over a box: what of the ground each plate keeps, and what is added to it, in percent. */
interface Word {
  readonly box: Rect;
  readonly keeps: Plates;
  readonly adds: Plates;
}

/** A text as what it does to its box: its ground, then letters and rim as one. */
const wordsOf = ({ outlines, ink, box, rim, ground }: SetText): Word[] => {
  const words: Word[] = [];
  if (ground) {
    const own = bounds(ringsOfPath(ground.outlines).flat());
    const share = shareOf(areaOfPath(ground.outlines), own);
    words.push(word(own, platesOfInk(ground.ink), share));
  }
  const letters = areaOfPath(outlines);
  const values = platesOfInk(ink);
  // Black ink alone at full strength is printed over what lies there: see print.ts.
  const over = values.every((value, plate) => value === (plate === 3 ? 1 : 0));
  if (!rim) return [...words, word(box, values, shareOf(letters, box), over)];
  const shapes = repaired(
    ringsOfPath(outlines).map((ring) => ring.map(({ x, y }) => ({ x: Math.round(x), y: Math.round(y) }))),
  );
  const wide = grow(shapes, rim.width);
  const around = outlinesBounds(wide);
  const [all, core] = [outlinesArea(wide) / 1e6, outlinesArea(grow(shapes, -rim.width)) / 1e6];
  const [whole, letter, inside] = [all, letters, over ? core : 0].map((area) => shareOf(area, around)) as Plates;
  // Half of the rim's stroke lies under the letters: black ones show it, others hide it.
  const under = platesOfInk(rim.ink);
  const shown = over ? whole - inside : whole - letter;
  return [
    ...words,
    {
      box: around,
      keeps: values.map((_, plate) => 1 - whole + (over && plate < 3 ? inside : 0)) as Plates,
      adds: values.map(
        (value, plate) => 100 * ((under[plate] as number) * (plate < 3 ? shown : whole - letter) + value * letter),
      ) as Plates,
    },
  ];
};

const shareOf = (area: number, { width, height }: Rect): number =>
  Math.min(1, area / Math.max(1e-9, (width / 1000) * (height / 1000)));

/** One ink over a share of a box. `over`: it hides nothing but its own plate. */
const word = (box: Rect, values: Plates, share: number, over = false): Word => ({
  box,
  keeps: values.map((_, plate) => (over && plate < 3 ? 1 : 1 - share)) as Plates,
  adds: values.map((value) => 100 * share * value) as Plates,
});

const write = ({ x, y, across, inks, spots }: Cells, { box, keeps, adds }: Word): void => {
  const [left, right] = [box.x - x, box.x + box.width - x];
  const [top, bottom] = [box.y - y, box.y + box.height - y];
  for (let row = Math.floor(top / SQUARE); row < Math.ceil(bottom / SQUARE); row++)
    for (let column = Math.floor(left / SQUARE); column < Math.ceil(right / SQUARE); column++) {
      const wide = Math.min(right, (column + 1) * SQUARE) - Math.max(left, column * SQUARE);
      const high = Math.min(bottom, (row + 1) * SQUARE) - Math.max(top, row * SQUARE);
      const share = (wide * high) / SQUARE ** 2;
      const at = 4 * (row * across + column);
      // Black overprints spot inks as it does cyan.
      for (const spot of spots)
        spot.inks[at / 4] = (spot.inks[at / 4] as number) * (1 - share + share * (keeps[0] as number));
      for (let plate = 0; plate < 4; plate++) {
        const ink = inks[at + plate] as number;
        inks[at + plate] = ink * (1 - share + share * (keeps[plate] as number)) + share * (adds[plate] as number);
      }
    }
};
