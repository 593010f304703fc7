import { outlinesArea } from "@kitforme/geometry";
import type { Effort, Field, Footprint } from "../footprint.ts";
import { pack, packOne } from "../placing/pack.ts";

/** A piece at its place; x and y whole micrometres, turn in degrees counter-clockwise. */
export interface Laid {
  readonly footprint: number;
  readonly turn: number;
  readonly x: number;
  readonly y: number;
}

/** A layout that is known to be possible: `counts[i]` places of footprint i on this field. */
export interface Pattern {
  readonly field: number;
  readonly counts: readonly number[];
  readonly laid: readonly Laid[];
}

/**
 * Answers "do these go on one sheet?" and remembers: a part of what fitted fits, more than what did not is not tried again.
 * `spent` counts the pieces that were laid to find out, the measure of effort.
 */
export class Stock {
  readonly footprints: readonly Footprint[];
  readonly fields: readonly Field[];
  /** Area of every footprint's shape, square micrometres. */
  readonly area: readonly number[];
  /** Area for shapes of every field. */
  readonly room: readonly number[];
  spent = 0;
  private readonly fitted: Pattern[] = [];
  private readonly failed: { field: number; effort: Effort; counts: readonly number[] }[] = [];

  constructor(footprints: readonly Footprint[], fields: readonly Field[]) {
    this.footprints = footprints;
    this.fields = fields;
    this.area = footprints.map((f) => outlinesArea(f.shape));
    this.room = fields.map((f) => f.print.width * f.print.height);
  }

  /** The layout with exactly these pieces, or undefined when none was found. */
  fit(field: number, counts: readonly number[], effort: Effort = "quick"): Pattern | undefined {
    for (const p of this.fitted) if (p.field === field && covers(p.counts, counts)) return part(p, counts);
    let area = 0;
    for (let i = 0; i < counts.length; i++) area += (counts[i] as number) * (this.area[i] as number);
    if (area > (this.room[field] as number)) return undefined;
    for (const f of this.failed)
      if (f.field === field && RANK[f.effort] >= RANK[effort] && covers(counts, f.counts)) return undefined;
    const items = itemsOf(counts);
    this.spent += items.length * WEIGHT[effort];
    const packed = packOne(this.footprints, this.fields[field] as Field, items, effort, 1);
    if (!packed) {
      this.failed.push({ field, effort, counts });
      return undefined;
    }
    return this.keep(field, items, packed.placements);
  }

  /** As many of these pieces as one sheet takes, larger ones first. */
  async most(field: number, counts: readonly number[], effort: Effort = "quick"): Promise<Pattern> {
    for (const p of this.fitted) if (p.field === field && covers(p.counts, counts)) return part(p, counts);
    const items = itemsOf(counts);
    this.spent += items.length * WEIGHT[effort];
    const only = [this.fields[field] as Field];
    const { sheets } = await pack({ footprints: this.footprints, fields: only, items, effort, seed: 1, maxSheets: 1 });
    return this.keep(field, items, sheets[0]?.placements ?? []);
  }

  /** Everything once, on as few sheets as may be. */
  async spread(counts: readonly number[], effort: Effort, threads: number, signal?: AbortSignal): Promise<Pattern[]> {
    const items = itemsOf(counts);
    this.spent += items.length;
    const { sheets } = await pack({
      footprints: this.footprints,
      fields: this.fields,
      items,
      effort,
      seed: 1,
      threads,
      ...(signal ? { signal } : {}),
    });
    return sheets.map((s) => this.keep(s.field, items, s.placements));
  }

  private keep(
    field: number,
    items: readonly { footprint: number }[],
    placements: readonly { key: number; turn: number; x: number; y: number }[],
  ): Pattern {
    const laid = placements
      .map(({ key, turn, x, y }) => ({ footprint: (items[key] as { footprint: number }).footprint, turn, x, y }))
      // Along the sheet: pieces that follow one another here are neighbours.
      .sort((a, b) => a.y - b.y || a.x - b.x || a.footprint - b.footprint);
    const counts = this.footprints.map(() => 0);
    for (const { footprint } of laid) counts[footprint] = (counts[footprint] as number) + 1;
    const pattern = { field, counts, laid };
    if (laid.length > 0 && this.fitted.length < 4000) this.fitted.push(pattern);
    return pattern;
  }
}

const RANK: Record<Effort, number> = { quick: 0, normal: 1, best: 2 };
/** What laying a piece counts for in `spent`: about its time against the quick way. */
const WEIGHT: Record<Effort, number> = { quick: 1, normal: 8, best: 40 };

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
  const laid = pattern.laid.filter(({ footprint }) => {
    if ((left[footprint] as number) <= 0) return false;
    left[footprint] = (left[footprint] as number) - 1;
    return true;
  });
  return laid.length === pattern.laid.length ? pattern : { field: pattern.field, counts, laid };
};
