// A shorter way from line to line: the moves share the arrays that make them cheap, so they stand together.
import type { Point } from "@kitforme/geometry";

/** One line that a tool works in one go. Points in micrometres of the sheet. */
export interface Stop {
  /** Where it may be entered. A closed line is left where it was entered; an open one at its other end. */
  readonly entries: readonly Point<"sheet">[];
  readonly closed: boolean;
  /** Stops, by index, that must be worked before this one. */
  readonly after: readonly number[];
}

/** A stop in its turn, and through which of its entries. */
export interface Visit {
  readonly stop: number;
  readonly entry: number;
}

/** Neighbours that a stop is tried beside. More gains less than a thousandth on sheets of 200 contours. */
const NEIGHBOURS = 12;
/** Stops of a stretch that is moved elsewhere as one. */
const STRETCH = 3;
/** Rounds of order and entries after each other; they settle after three or four. */
const ROUNDS = 8;
/** Sweeps over all stops within a round. */
const SWEEPS = 30;
/** Entries looked at while a first order is found, one try and the next; all are when the entries are chosen. */
const ENTRIES_AT_FIRST = [12, 48];
/** Stops that all tries together may have, and how many tries there are at least and at most. */
const [TOGETHER, FEWEST, MOST] = [200, 2, 8];

// Not `Math.hypot`, which takes ten times as long and guards against numbers that no sheet has: this is asked a million times.
const apart = (p: Point, q: Point): number => Math.sqrt((p.x - q.x) ** 2 + (p.y - q.y) ** 2);

/**
 * The order and the entries that make the tool's way with the blade raised short: nearest stop first, then stretches turned
 * round (2-opt) and moved (Or-opt), then the entries chosen anew, over and over until nothing gets shorter. Never against
 * `after`. Work grows with stops times neighbours; same stops, same order.
 *
 * Tried and left out: seeded shakes (two stretches change places, seams improved anew) gained 0 to 0.7 % for ten times the work.
 *
 * @param from where the tool stands
 * @throws when the stops wait for each other in a ring
 */
export const shortenTravel = (stops: readonly Stop[], from: Point<"sheet">): Visit[] => {
  if (stops.length === 0) return [];
  const near = neighboursOf(stops);
  const before = beforeOf(stops);
  // Where a try ends up is luck, more so where lines begin where others end: the best of a few is shorter by up to an eighth.
  // Many contours have many ways that are nearly as short.
  const tries = Math.max(FEWEST, Math.min(MOST, Math.floor(TOGETHER / stops.length)));
  const tours = Array.from({ length: tries }, (_, n) => {
    const inTurn = shuffled(stops.length, Math.floor(n / ENTRIES_AT_FIRST.length));
    const first = nearestFirst(stops, from, ENTRIES_AT_FIRST[n % ENTRIES_AT_FIRST.length] as number, inTurn);
    return shortened(stops, first, { from, near, before, inTurn });
  });
  return tours.reduce((a, b) => (travelOf(stops, b, from) < travelOf(stops, a, from) - 1 ? b : a));
};

/** The numbers below `count`, in their own order for seed 0 (Numerical Recipes' linear congruence, Fisher and Yates' shuffle). */
const shuffled = (count: number, seed: number): number[] => {
  const order = Array.from({ length: count }, (_, i) => i);
  let state = seed;
  for (let i = count - 1; seed > 0 && i > 0; i--) {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    const j = Math.floor((state / 2 ** 32) * (i + 1));
    [order[i], order[j]] = [order[j] as number, order[i] as number];
  }
  return order;
};

/** What is the same all through one try. */
interface Try {
  readonly from: Point<"sheet">;
  /** For each stop the nearest others. */
  readonly near: readonly (readonly number[])[];
  /** For each stop those that wait for it. */
  readonly before: readonly (readonly number[])[];
  /** All stops, in the sequence in which they are tried. */
  readonly inTurn: readonly number[];
}

const shortened = (stops: readonly Stop[], tour: Visit[], how: Try): Visit[] => {
  const { from } = how;
  let length = travelOf(stops, tour, from);
  for (let round = 0; round < ROUNDS; round++) {
    chooseEntries(stops, tour, from);
    improveOrder(stops, tour, how);
    const now = travelOf(stops, tour, from);
    if (now >= length - 1) break;
    length = now;
  }
  chooseEntries(stops, tour, from);
  return tour;
};

const entryOf = (stops: readonly Stop[], { stop, entry }: Visit): Point<"sheet"> =>
  (stops[stop] as Stop).entries[entry] as Point<"sheet">;

const exitOf = (stops: readonly Stop[], visit: Visit): Point<"sheet"> => {
  const { closed, entries } = stops[visit.stop] as Stop;
  return closed ? entryOf(stops, visit) : (entries[1 - visit.entry] as Point<"sheet">);
};

/** Micrometres with the tool raised, from where it stands to the last stop's entry. */
export const travelOf = (stops: readonly Stop[], tour: readonly Visit[], from: Point<"sheet">): number => {
  let [sum, pen] = [0, from];
  for (const visit of tour) {
    sum += apart(pen, entryOf(stops, visit));
    pen = exitOf(stops, visit);
  }
  return sum;
};

/** Every how-manieth entry is looked at so that no more than `most` are. */
const strideOf = (count: number, most: number): number => Math.max(1, Math.ceil(count / most));

/** Of stops that are equally near the one that comes first `inTurn`. */
const nearestFirst = (
  stops: readonly Stop[],
  from: Point<"sheet">,
  most: number,
  inTurn: readonly number[],
): Visit[] => {
  const waits = stops.map(({ after }) => after.length);
  const frees = beforeOf(stops);
  const waiting = new Set(inTurn);
  const tour: Visit[] = [];
  let pen = from;
  while (waiting.size > 0) {
    let best: Visit | undefined;
    let least = Number.POSITIVE_INFINITY;
    for (const stop of waiting) {
      if ((waits[stop] as number) > 0) continue;
      const { entries } = stops[stop] as Stop;
      const stride = strideOf(entries.length, most);
      for (let entry = 0; entry < entries.length; entry += stride) {
        const p = entries[entry] as Point;
        const distance = (p.x - pen.x) ** 2 + (p.y - pen.y) ** 2;
        if (distance < least) [best, least] = [{ stop, entry }, distance];
      }
    }
    if (!best) throw new Error("lines that must each be worked before the other");
    waiting.delete(best.stop);
    for (const freed of frees[best.stop] as number[]) waits[freed] = (waits[freed] as number) - 1;
    tour.push(best);
    pen = exitOf(stops, best);
  }
  return tour;
};

/** For each stop, those that wait for it. */
const beforeOf = (stops: readonly Stop[]): number[][] => {
  const before = stops.map((): number[] => []);
  stops.forEach(({ after }, i) => {
    for (const first of after) before[first]?.push(i);
  });
  return before;
};

/** For each stop the nearest others, by the middle of their entries. */
const neighboursOf = (stops: readonly Stop[]): number[][] => {
  const middles = stops.map(({ entries }) => ({
    x: entries.reduce((s, p) => s + p.x, 0) / entries.length,
    y: entries.reduce((s, p) => s + p.y, 0) / entries.length,
  }));
  const byX = [...middles.keys()].sort((a, b) => (middles[a] as Point).x - (middles[b] as Point).x || a - b);
  const rank = Array.from<number>({ length: stops.length });
  byX.forEach((stop, r) => {
    rank[stop] = r;
  });
  return middles.map((middle, i) => {
    const found: { stop: number; d: number }[] = [];
    const far = (): number => (found.length < NEIGHBOURS ? Number.POSITIVE_INFINITY : (found.at(-1)?.d as number));
    const look = (r: number): boolean => {
      const stop = byX[r];
      if (stop === undefined) return false;
      const other = middles[stop] as Point;
      if ((other.x - middle.x) ** 2 > far()) return false;
      const d = (other.x - middle.x) ** 2 + (other.y - middle.y) ** 2;
      if (d < far()) {
        found.push({ stop, d });
        found.sort((a, b) => a.d - b.d || a.stop - b.stop);
        found.splice(NEIGHBOURS);
      }
      return true;
    };
    let [left, right] = [true, true];
    for (let step = 1; left || right; step++) {
      left &&= look((rank[i] as number) - step);
      right &&= look((rank[i] as number) + step);
    }
    return found.map(({ stop }) => stop);
  });
};

/** Each stop entered where the way from the one before and to the one after is shortest; in place, until it settles. */
const chooseEntries = (stops: readonly Stop[], tour: Visit[], from: Point<"sheet">): void => {
  for (let sweep = 0, changed = true; changed && sweep < SWEEPS; sweep++) {
    changed = false;
    for (let i = 0; i < tour.length; i++) {
      const visit = tour[i] as Visit;
      const { entries, closed } = stops[visit.stop] as Stop;
      const pen = i === 0 ? from : exitOf(stops, tour[i - 1] as Visit);
      const next = tour[i + 1] && entryOf(stops, tour[i + 1] as Visit);
      const cost = (entry: number): number => {
        const p = entries[entry] as Point;
        const q = closed ? p : (entries[1 - entry] as Point);
        return apart(pen, p) + (next ? apart(q, next) : 0);
      };
      let [best, least] = [visit.entry, cost(visit.entry) - 0.5];
      for (let entry = 0; entry < entries.length; entry++) {
        const c = cost(entry);
        if (c < least) [best, least] = [entry, c];
      }
      if (best === visit.entry) continue;
      tour[i] = { stop: visit.stop, entry: best };
      changed = true;
    }
  }
};

/** An open line walked from its other end. */
const turned = (stops: readonly Stop[], visit: Visit): Visit =>
  (stops[visit.stop] as Stop).closed ? visit : { stop: visit.stop, entry: 1 - visit.entry };

/** Stretches turned round and moved while that shortens the way, stops tried `inTurn`; in place. */
const improveOrder = (stops: readonly Stop[], tour: Visit[], { from, near, before, inTurn }: Try): void => {
  const at = Array.from<number>({ length: stops.length });
  const renumber = (a: number, b: number): void => {
    for (let i = a; i <= b; i++) at[(tour[i] as Visit).stop] = i;
  };
  renumber(0, tour.length - 1);
  const last = tour.length - 1;
  const exit = (i: number): Point => (i < 0 ? from : exitOf(stops, tour[i] as Visit));
  const entry = (i: number): Point | undefined => (i > last ? undefined : entryOf(stops, tour[i] as Visit));
  const gap = (p: Point, q: Point | undefined): number => (q ? apart(p, q) : 0);

  /** Stretch a..b walked the other way. */
  const turnRound = (a: number, b: number): boolean => {
    if (a < 0 || b > last || a >= b) return false;
    const [first, end] = [tour[a] as Visit, tour[b] as Visit];
    const now = gap(exit(a - 1), entry(a)) + gap(exit(b), entry(b + 1));
    const then =
      gap(exit(a - 1), entryOf(stops, turned(stops, end))) + gap(exitOf(stops, turned(stops, first)), entry(b + 1));
    if (then >= now - 1) return false;
    for (let i = a; i <= b; i++)
      if (before[(tour[i] as Visit).stop]?.some((later) => (at[later] as number) <= b)) return false;
    // What lies inside the stretch stays as long only if open lines are turned with it: both are, so it does.
    const stretch = tour.slice(a, b + 1).reverse();
    for (let i = a; i <= b; i++) tour[i] = turned(stops, stretch[i - a] as Visit);
    renumber(a, b);
    return true;
  };

  /** Stretch a..b put between k and k + 1, as it is or the other way. */
  const move = (a: number, b: number, k: number): boolean => {
    if (a < 0 || b > last || k > last || k < -1 || (k >= a - 1 && k <= b)) return false;
    const out = gap(exit(a - 1), entry(a)) + gap(exit(b), entry(b + 1)) - gap(exit(a - 1), entry(b + 1));
    if (out <= 1) return false;
    const there = gap(exit(k), entry(k + 1));
    const [first, end] = [tour[a] as Visit, tour[b] as Visit];
    const straight = gap(exit(k), entryOf(stops, first)) + gap(exitOf(stops, end), entry(k + 1)) - there;
    const back =
      gap(exit(k), entryOf(stops, turned(stops, end))) + gap(exitOf(stops, turned(stops, first)), entry(k + 1)) - there;
    if (Math.min(straight, back) >= out - 1) return false;
    const stretch = tour.slice(a, b + 1);
    const related = stretch.some((v) => before[v.stop]?.some((w) => (at[w] as number) >= a && (at[w] as number) <= b));
    const round = !related && back < straight;
    if ((round ? back : straight) >= out - 1) return false;
    const way = round ? stretch.toReversed().map((v) => turned(stops, v)) : stretch;
    const [low, high] = k > b ? [b + 1, k] : [k + 1, a - 1];
    const within = (stop: number): boolean => (at[stop] as number) >= low && (at[stop] as number) <= high;
    for (const { stop } of stretch) {
      const hindered = k > b ? before[stop]?.some(within) : stops[stop]?.after.some(within);
      if (hindered) return false;
    }
    tour.splice(a, b - a + 1);
    const to = k > b ? k - (b - a) : k + 1;
    tour.splice(to, 0, ...way);
    renumber(Math.min(a, to), Math.max(b, to + b - a));
    return true;
  };

  const tryStop = (stop: number): boolean => {
    const i = at[stop] as number;
    for (const other of near[stop] as number[]) {
      const k = at[other] as number;
      if (k > i ? turnRound(i + 1, k) || turnRound(i, k - 1) : turnRound(k + 1, i) || turnRound(k, i - 1)) return true;
      for (let more = 0; more < STRETCH; more++)
        if (move(i, i + more, k) || move(i, i + more, k - 1) || move(i - more, i, k) || move(i - more, i, k - 1))
          return true;
    }
    return turnRound(0, i) || turnRound(i, last);
  };

  for (let sweep = 0, changed = true; changed && sweep < SWEEPS; sweep++) {
    changed = false;
    for (const stop of inTurn) if (tryStop(stop)) changed = true;
  }
};
