import type { Redis } from "ioredis";
import { type Again, type Answer, ENDS, type Keys, type Lane, LANES, type State, STATES } from "./keys.ts";
import type { Pool } from "./plan-gangs.ts";
import { Plans } from "./plans.ts";
import { fieldsOf } from "./waiting.ts";

/** Where an order is, and its answer once there is one. */
export interface OrderStatus {
  readonly order: string;
  readonly state: State;
  /** When it came into each of its states, ISO times. */
  readonly times: Readonly<Partial<Record<State, string>>>;
  /** It prints something made again: which order of which job, or which of its pieces. */
  readonly again?: Omit<Again, "file">;
  /** The gang that makes it, and why these orders are made together. */
  readonly gang?: string;
  readonly why?: string;
  /** What its gang still waits for. */
  readonly waits?: { readonly sheets: number; readonly until: string };
  readonly progress?: unknown;
  /** Why the last try failed and another is waited for. */
  readonly trouble?: string;
  readonly answer?: Answer;
}

/** Which orders are asked for; left out, all. */
export interface StatusQuery {
  readonly order?: string;
  readonly states?: readonly State[];
  /** At most so many, after so many. */
  readonly limit?: number;
  readonly skip?: number;
}

/**
 * Where orders are: those asked for, sorted by name; an empty list when nobody knows the one named.
 *
 * @param plans of the process, where many questions are answered: what orders wait for is then planned some times a second at most
 */
export const statusOf = async (
  redis: Redis,
  keys: Keys,
  query: StatusQuery = {},
  plans: Plans = new Plans(),
): Promise<OrderStatus[]> => {
  const names = query.order === undefined ? await namesIn(redis, keys, query) : [query.order];
  const known = await fieldsOf(
    redis,
    keys,
    names,
    "state",
    "gang",
    "why",
    "trouble",
    "again",
    ...STATES.map((s) => `at:${s}`),
  );
  const gangs = new Map<string, unknown>();
  const making = new Set(known.flatMap(([state, gang]) => (state === "making" && gang ? [gang] : [])));
  for (const gang of making) {
    const progress = await redis.hget(`${keys.prefix}-gang:${gang}`, "progress");
    if (progress) gangs.set(gang, JSON.parse(progress) as unknown);
  }
  const waiting = names.filter((_, i) => known[i]?.[0] === "waiting");
  const waits = waiting.length > 0 ? await plans.waitsOf(redis, keys, waiting) : new Map<string, Pool>();
  const answers = await answersOf(redis, keys, names);
  return known.flatMap(([state, gang, why, trouble, again, ...times], i): OrderStatus[] => {
    if (!state) return [];
    const order = names[i] as string;
    const pool = state === "waiting" ? waits.get(order) : undefined;
    const progress = state === "making" ? gangs.get(gang ?? "") : undefined;
    // Read after the state: an answer that came in between is not yet this state's.
    const answer = ENDS.includes(state as State) ? answers[i] : undefined;
    return [
      {
        order,
        state: state as State,
        times: Object.fromEntries(
          STATES.flatMap((s, k) => (times[k] ? [[s, new Date(Number(times[k])).toISOString()]] : [])),
        ),
        ...(again ? { again: againOf(again) } : {}),
        ...(gang ? { gang } : {}),
        ...(why ? { why } : {}),
        ...(pool ? { waits: { sheets: rounded(pool.lacks), until: new Date(pool.until).toISOString() } } : {}),
        ...(progress === undefined ? {} : { progress }),
        ...(trouble ? { trouble } : {}),
        ...(answer ? { answer: JSON.parse(answer) as Answer } : {}),
      },
    ];
  });
};

const againOf = (text: string): Omit<Again, "file"> => {
  const { file: _, ...again } = JSON.parse(text) as Again;
  return again;
};

/** Orders of the whole queue by state. */
export interface Counts {
  readonly counts: Readonly<Record<State, number>>;
  /** Gangs that wait for a worker, and that are being made, by lane. */
  readonly gangs: Readonly<Record<Lane, { readonly waiting: number; readonly making: number }>>;
  /** When the oldest order that has no end yet was received, ms since 1970. */
  readonly oldest?: number;
  /** Milliseconds since then, by the clock of Redis: that of the machine that asks may be off. */
  readonly age?: number;
  /** Why the queue pauses, if it does. */
  readonly trouble?: string;
}

/** How many orders are in each state, and why the queue pauses, if it does. */
export const countsOf = async (redis: Redis, keys: Keys): Promise<Counts> => {
  const P = keys.prefix;
  const batch = redis.pipeline();
  for (const state of STATES) batch.zcard(`${P}-in:${state}`);
  // BullMQ's own keys of a lane: what waits by priority, anew or for a later time, and what is being made.
  for (const lane of LANES)
    batch
      .zcard(`${P}:${lane}:prioritized`)
      .llen(`${P}:${lane}:wait`)
      .zcard(`${P}:${lane}:delayed`)
      .llen(`${P}:${lane}:active`);
  batch.zrange(`${P}-open`, "0", "0", "WITHSCORES").get(`${P}-trouble`).time();
  const answers = ((await batch.exec()) ?? []).map(([error, answer]) => {
    if (error) throw error;
    return answer;
  });
  const number = (i: number): number => Number(answers[i] ?? 0);
  const lanes = LANES.map((lane, i) => {
    const [prioritized, anew, delayed, making] = [0, 1, 2, 3].map((k) => number(STATES.length + 4 * i + k));
    return [lane, { waiting: (prioritized ?? 0) + (anew ?? 0) + (delayed ?? 0), making: making ?? 0 }] as const;
  });
  const [first, trouble, time] = answers.slice(-3) as [string[], string | null, [number, number]];
  const oldest = first[1] === undefined ? undefined : Number(first[1]);
  return {
    counts: Object.fromEntries(STATES.map((s, i) => [s, number(i)])) as Record<State, number>,
    gangs: Object.fromEntries(lanes) as Record<Lane, { waiting: number; making: number }>,
    ...(oldest === undefined ? {} : { oldest, age: Math.max(0, Number(time[0]) * 1_000 - oldest) }),
    ...(trouble ? { trouble } : {}),
  };
};

const rounded = (sheets: number): number => Math.round(sheets * 100) / 100;

const namesIn = async (redis: Redis, keys: Keys, { states, limit, skip = 0 }: StatusQuery): Promise<string[]> => {
  const all = await Promise.all((states ?? STATES).map((s) => redis.zrange(`${keys.prefix}-in:${s}`, "0", "-1")));
  return all
    .flat()
    .sort()
    .slice(skip, limit === undefined ? undefined : skip + limit);
};

const answersOf = async (redis: Redis, keys: Keys, names: readonly string[]): Promise<(string | null)[]> => {
  const all: (string | null)[] = [];
  for (let i = 0; i < names.length; i += 1_000)
    all.push(...(await redis.mget(names.slice(i, i + 1_000).map((name) => `${keys.prefix}-answer:${name}`))));
  return all;
};
