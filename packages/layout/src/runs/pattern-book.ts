import { outlinesArea } from "@kitforme/geometry";
import {
  type Catalogues,
  type Effort,
  exchanger,
  type Field,
  type Footprint,
  fullSheet,
  pack,
  type Placed,
  TOGETHER,
} from "@kitforme/nest";
import { entryAt, startThread } from "@kitforme/threads";

/** A layout that is known to be possible: `counts[i]` places of footprint i on this field. */
export interface Pattern {
  readonly field: number;
  readonly counts: readonly number[];
  readonly placed: readonly Placed[];
}

/**
 * Takes pieces off a sheet (`gone`, indices into what lies there) and puts others on (`added`, footprints): the sheet after it,
 * absent where that did not come off, and the moves of single pieces it took.
 */
export type Exchange = (
  pattern: Pattern,
  gone: readonly number[],
  added: readonly number[],
) => { readonly pattern: Pattern | undefined; readonly moves: number };

/**
 * Answers "do these go on one sheet?" and remembers: a part of what fitted fits, more than what did not is not tried again.
 * `spent` counts the pieces that were laid to find out, the measure of effort.
 */
export class PatternBook {
  readonly footprints: readonly Footprint[];
  readonly fields: readonly Field[];
  /** Area of every footprint's shape, square micrometres. */
  readonly area: readonly number[];
  /** Area for shapes of every field. */
  readonly room: readonly number[];
  spent = 0;
  /** Called after every layout that was tried. */
  onLaid: (() => void) | undefined;
  private readonly fitted: Pattern[] = [];
  private readonly failed: { field: number; tries: number; counts: readonly number[] }[] = [];
  private readonly asked: { field: number; seed: number; counts: readonly number[]; pattern: Pattern }[] = [];
  private readonly only: Field[][];
  private readonly draft: boolean;
  private readonly catalogues: Catalogues;

  /** `catalogues`: the overlap maps of the job, made once. `draft`: the whole job is wanted at once, so that its shapes may be rougher. */
  constructor(footprints: readonly Footprint[], fields: readonly Field[], catalogues: Catalogues, draft: boolean) {
    this.catalogues = catalogues;
    this.draft = draft;
    this.footprints = footprints;
    this.fields = fields;
    this.area = footprints.map((f) => outlinesArea(f.shape));
    this.only = fields.map((f) => [f]);
    this.room = fields.map((f) => f.bounds.width * f.bounds.height);
  }

  /**
   * The layout with exactly these pieces, or undefined when none was found in so many tries. Each try starts the search from
   * another seed: at 80 % of a sheet one try in four finds the way. `onPart` hears of layouts that hold only a part.
   */
  async fit(
    field: number,
    counts: readonly number[],
    effort: Effort,
    tries = 1,
    onPart?: (most: Pattern) => void,
  ): Promise<Pattern | undefined> {
    const asked = counts.reduce((a, b) => a + b, 0);
    let area = 0;
    for (let i = 0; i < counts.length; i++) area += (counts[i] as number) * (this.area[i] as number);
    for (let seed = 1; seed <= tries; seed++) {
      const pattern = this.known(field, counts);
      if (pattern) return pattern;
      if (area > (this.room[field] as number)) return undefined;
      if (this.failed.some((f) => f.field === field && f.tries >= seed && covers(counts, f.counts))) continue;
      const most = await this.lay(field, counts, effort, seed);
      if (most.placed.length === asked) return most;
      onPart?.(most);
    }
    return undefined;
  }

  /** As many of these pieces as one sheet takes, larger ones first. */
  async most(field: number, counts: readonly number[], effort: Effort): Promise<Pattern> {
    return this.known(field, counts) ?? (await this.lay(field, counts, effort, 1));
  }

  /** A sheet with as many pieces of one footprint as it takes, at most `most`. */
  full(field: number, footprint: number, most: number): Pattern {
    const places = fullSheet(this.footprints[footprint] as Footprint, this.fields[field] as Field, most);
    this.spent += places.length;
    const pattern = this.remember(
      field,
      places.map((place) => ({ footprint, ...place })),
    );
    this.onLaid?.();
    return pattern;
  }

  private known(field: number, counts: readonly number[]): Pattern | undefined {
    for (const p of this.fitted) if (p.field === field && covers(p.counts, counts)) return part(p, counts);
    return undefined;
  }

  private async lay(field: number, counts: readonly number[], effort: Effort, seed: number): Promise<Pattern> {
    const before = this.asked.find(
      (l) => l.field === field && l.seed === seed && covers(l.counts, counts) && covers(counts, l.counts),
    );
    if (before) return before.pattern;
    const items = itemsOf(counts);
    const way = items.length > TOGETHER ? "quick" : effort;
    this.spent += laying(items.length) * WEIGHT[way];
    const only = this.only[field] as Field[];
    const { sheets } = await pack({
      footprints: this.footprints,
      fields: only,
      items,
      effort: way,
      seed,
      draft: this.draft,
      catalogues: this.catalogues,
      maxSheets: 1,
    });
    const pattern = this.keep(field, items, sheets[0]?.placements ?? []);
    if (pattern.placed.length < items.length) this.failed.push({ field, tries: seed, counts });
    this.asked.push({ field, seed, counts, pattern });
    this.onLaid?.();
    return pattern;
  }

  /** Everything once, on as few sheets as may be. `onSearch` hears how much of the search is done, 0 to 1, and the sheets so far. */
  async spread(
    counts: readonly number[],
    effort: Effort,
    threads: number,
    signal?: AbortSignal,
    onSearch?: (done: number, sheets: number) => void,
  ): Promise<Pattern[]> {
    const items = itemsOf(counts);
    this.spent += items.length * WEIGHT[effort];
    const { sheets } = await pack({
      footprints: this.footprints,
      fields: this.fields,
      items,
      effort,
      seed: 1,
      draft: this.draft,
      catalogues: this.catalogues,
      threads,
      startThread: (entry, data) => startThread(entryAt(entry), { data }),
      ...(signal ? { signal } : {}),
      ...(onSearch ? { onProgress: (p) => onSearch(p.done / p.of, p.sheets) } : {}),
    });
    return sheets.map((s) => this.keep(s.field, items, s.placements));
  }

  /** Exchanges on single sheets of a field: one after the other they learn which are hopeless. None for very many kinds. */
  exchanger(field: number, seed: number, aborted: () => boolean): Exchange | undefined {
    const exchange = exchanger(
      this.footprints,
      this.only[field] as [Field],
      this.draft,
      seed,
      aborted,
      this.catalogues,
    );
    if (!exchange) return undefined;
    return (pattern, gone, added) => {
      const { layout, moves } = exchange(pattern.placed, gone, added);
      return { pattern: layout && this.remember(field, layout), moves };
    };
  }

  private keep(
    field: number,
    items: readonly { footprint: number }[],
    placements: readonly { key: number; turn: number; x: number; y: number }[],
  ): Pattern {
    return this.remember(
      field,
      placements.map(({ key, turn, x, y }) => ({
        footprint: (items[key] as { footprint: number }).footprint,
        turn,
        x,
        y,
      })),
    );
  }

  /** Keeps a layout that is known to be possible. */
  remember(field: number, places: readonly Placed[]): Pattern {
    // Along the sheet: pieces that follow one another here are neighbours.
    const placed = [...places].sort((a, b) => a.y - b.y || a.x - b.x || a.footprint - b.footprint);
    const counts = this.footprints.map(() => 0);
    for (const { footprint } of placed) counts[footprint] = (counts[footprint] as number) + 1;
    const pattern = { field, counts, placed };
    if (placed.length > 0 && this.fitted.length < 4000) this.fitted.push(pattern);
    return pattern;
  }
}

/** Every piece is held against those that lie already: a sheet of many small ones costs by the square. */
const laying = (pieces: number): number => pieces * (1 + pieces / 24);

/** What laying a piece counts for in `spent`: about its time against the quick way. */
const WEIGHT: Record<Effort, number> = { quick: 1, normal: 3, best: 4 };

const itemsOf = (counts: readonly number[]): { footprint: number; key: number }[] => {
  const items: { footprint: number; key: number }[] = [];
  counts.forEach((n, footprint) => {
    for (let k = 0; k < n; k++) items.push({ footprint, key: items.length });
  });
  return items;
};

const covers = (more: readonly number[], less: readonly number[]): boolean => {
  for (let i = 0; i < less.length; i++) if ((less[i] as number) > (more[i] as number)) return false;
  return true;
};

/** The same layout with some places left empty, the last ones along the sheet first. */
export const part = (pattern: Pattern, counts: readonly number[]): Pattern => {
  const left = [...counts];
  const placed = pattern.placed.filter(({ footprint }) => {
    if ((left[footprint] as number) <= 0) return false;
    left[footprint] = (left[footprint] as number) - 1;
    return true;
  });
  return placed.length === pattern.placed.length ? pattern : { field: pattern.field, counts, placed };
};
