import { inset, type Rect, touches, unionOf } from "@kitforme/geometry";
import type { Sheet } from "@kitforme/sheet";
import { roomsOfWords } from "./expected.ts";
import type { Painted, PaintedItem } from "./painted.ts";
import type { Measured } from "./measured.ts";

/** How many are kept: sheets of one cut geometry follow each other. */
const MOST = 4;
/** A change is looked at with so much around it, micrometres: letters are softened by a pixel, and cells are 1 mm. */
const AROUND = 1200;
/** Where more changed than this many places, or this share of the page, the whole page is looked at. */
const PLACES = 80;
const SHARE = 0.4;

/** A page that has stood the whole proof. */
export interface KnownPage {
  readonly painted: Painted;
  readonly words: ReadonlyMap<string, Rect>;
  readonly measured: Measured;
}

/**
 * Pages that have stood the whole proof, so that of a page which differs from one of them only what differs is tried: what
 * its file paints elsewhere is the same, byte by byte, and so is what is expected there.
 */
export class KnownPages {
  readonly #numbers = new WeakMap<object, number>();
  readonly #looking = new Map<string, Promise<unknown>>();
  #kept: readonly { readonly key: string; readonly pages: readonly KnownPage[] }[] = [];
  #last = 0;

  /** The same for sheets on which the same is expected, but for their words. */
  keyOf({ stock, width, height, placed, marks, back }: Sheet): string {
    const places = placed.map((one) => {
      const { prepared, pictures = [], matrix } = one;
      const rooms = (["front", "back"] as const).map((side) => roomsOfWords(one, side));
      return [this.#number(prepared), matrix, rooms, pictures.map((picture) => this.#number(picture))];
    });
    // Within a job a press and a cutter are known by their names; sheets that come from another process bring them anew.
    const { press, cutter } = stock;
    const machines = [stock.stock, press?.name, press?.colour, press?.register, cutter.name, cutter.tolerance];
    return JSON.stringify([machines, width, height, marks, back?.matrix, places]);
  }

  of(key: string): readonly KnownPage[] | undefined {
    return this.#kept.find((one) => one.key === key)?.pages;
  }

  /**
   * One sheet of a key at a time is looked at until one has stood: those that are in hand beside it would each be drawn whole,
   * where they can wait for what it teaches.
   */
  async inTurn<T>(key: string, look: () => Promise<T>): Promise<T> {
    while (!this.of(key)) {
      const before = this.#looking.get(key);
      if (!before) break;
      // Its failure is told by whoever asked for it.
      await before.catch(() => undefined);
    }
    if (this.of(key)) return look();
    const looking = look();
    this.#looking.set(key, looking);
    try {
      return await looking;
    } finally {
      this.#looking.delete(key);
    }
  }

  keep(key: string, pages: readonly KnownPage[]): void {
    this.#kept = [{ key, pages }, ...this.#kept.filter((one) => one.key !== key)].slice(0, MOST);
  }

  #number(thing: object): number {
    const number = this.#numbers.get(thing) ?? ++this.#last;
    this.#numbers.set(thing, number);
    return number;
  }
}

/**
 * Where a page can differ from a known one: where its file paints something else, and where something else is expected.
 * @returns rectangles of the page apart from each other, micrometres; undefined where the whole page is to be looked at
 */
export const changesOf = (
  known: KnownPage,
  painted: Painted,
  words: ReadonlyMap<string, Rect>,
  page: Rect,
): readonly Rect[] | undefined => {
  if (known.painted.ground !== painted.ground) return undefined;
  const differ = differing(known.painted.items, painted.items);
  // Artwork or a buyer's picture: its place is to be measured anew too.
  if (differ.some(({ placed }) => placed)) return undefined;
  const rects = [
    ...differ.map(({ box }) => box),
    ...[...words].flatMap(([key, rect]) => (known.words.has(key) ? [] : [rect])),
    ...[...known.words].flatMap(([key, rect]) => (words.has(key) ? [] : [rect])),
  ].flatMap((rect) => {
    const around = inset(rect, -AROUND);
    // What is clipped away paints nothing.
    return rect.width > 0 && rect.height > 0 && Number.isFinite(around.x + around.y) ? [around] : [];
  });
  const apart: Rect[] = [];
  for (const rect of rects) {
    let whole = rect;
    for (let i = 0; i < apart.length; ) {
      const other = apart[i] as Rect;
      if (touches(whole, other)) {
        whole = unionOf(whole, other);
        apart.splice(i, 1);
        // The larger one may touch what the smaller did not.
        i = 0;
      } else i++;
    }
    apart.push(whole);
  }
  const area = apart.reduce((sum, r) => sum + r.width * r.height, 0);
  return apart.length > PLACES || area > SHARE * page.width * page.height ? undefined : apart;
};

/** What one paints and the other does not. A thing more or less moves all that follow: then the ends that agree are left out. */
const differing = (old: readonly PaintedItem[], now: readonly PaintedItem[]): PaintedItem[] => {
  if (old.length === now.length)
    return now.flatMap((item, i) => {
      const before = old[i] as PaintedItem;
      return item.key === before.key ? [] : [item, before];
    });
  const same = (i: number, j: number): boolean => old.at(i)?.key === now.at(j)?.key;
  const most = Math.min(old.length, now.length);
  let [first, last] = [0, 0];
  while (first < most && same(first, first)) first++;
  while (last < most - first && same(-1 - last, -1 - last)) last++;
  return [old, now].flatMap((items) => items.slice(first, items.length - last));
};
