import type { Redis } from "ioredis";
import type { Again, Keys } from "./keys.ts";
import type { GangRules, Waiting } from "./plan-gangs.ts";

/** Fields of many orders in one round trip per thousand. */
export const fieldsOf = async (
  redis: Redis,
  keys: Keys,
  names: readonly string[],
  ...fields: string[]
): Promise<(string | null)[][]> => {
  const rows: (string | null)[][] = [];
  for (let i = 0; i < names.length; i += 1_000) {
    const batch = redis.pipeline();
    for (const name of names.slice(i, i + 1_000)) batch.hmget(`${keys.prefix}-order:${name}`, ...fields);
    for (const [error, row] of (await batch.exec()) ?? []) {
      if (error) throw error;
      rows.push(row as (string | null)[]);
    }
  }
  return rows;
};

/** An order that is to be ganged. */
export interface ToGang extends Waiting {
  /** Checked, and not yet known to wait. */
  readonly checked: boolean;
}

/** Every order that is to be ganged: those that wait, and those that are checked and may go at once. */
export const readWaiting = async (redis: Redis, keys: Keys): Promise<ToGang[]> => {
  const named = (state: string): Promise<string[]> => redis.zrange(`${keys.prefix}-in:${state}`, "0", "-1");
  // In this sequence: one that comes from the one to the other meanwhile is met twice rather than not at all.
  const checked = await named("checked");
  const names = [...new Set([...checked, ...(await named("waiting"))])];
  const fields = ["state", "call", "effort", "shop", "kits", "sheets", "due", "rush", "now", "at:received", "again"];
  const rows = await fieldsOf(redis, keys, names, ...fields);
  return rows.flatMap(([state, call, effort, shop, kits, sheets, due, rush, now, since, again], i): ToGang[] =>
    state !== "waiting" && state !== "checked"
      ? []
      : [
          {
            name: names[i] as string,
            checked: state === "checked",
            ...(again ? { again: wordsOfAgain(JSON.parse(again) as Again) } : {}),
            call: call ?? "",
            effort: effort ?? "normal",
            shop: shop ?? "",
            kits: (kits ?? "").split("\n").filter(Boolean),
            sheets: JSON.parse(sheets ?? "{}") as Record<string, number>,
            ...(due ? { due: Number(due) } : {}),
            rush: rush === "1",
            now: now === "1",
            since: Number(since),
          },
        ],
  );
};

/** What is printed again, and of what, in words. */
const wordsOfAgain = ({ kind, order, job, spoiled = [] }: Again): string =>
  kind === "reprint"
    ? `order ${order} of job ${job} printed again`
    : `${spoiled.length === 1 ? "a spoiled piece" : `${spoiled.length} spoiled pieces`} of job ${job} made anew`;

/** The gang rules of some frozen shops. */
export const readRules = async (
  redis: Redis,
  keys: Keys,
  shops: Iterable<string>,
): Promise<ReadonlyMap<string, GangRules>> => {
  const ids = [...new Set(shops)];
  if (ids.length === 0) return new Map();
  const texts = await redis.mget(ids.map((id) => `${keys.prefix}-rules:${id}`));
  return new Map(ids.flatMap((id, i) => (texts[i] ? [[id, JSON.parse(texts[i] as string) as GangRules]] : [])));
};

/** `gang` of a shop's text; undefined when it has none. What is left out of it takes its usual value. */
export const rulesIn = (text: string): GangRules | undefined => {
  const { gang } = JSON.parse(text) as { gang?: Partial<Record<keyof GangRules, unknown>> };
  if (typeof gang !== "object" || gang === null) return undefined;
  const number = (value: unknown, usual: number): number =>
    typeof value === "number" && Number.isFinite(value) && value >= 0 ? value : usual;
  return { fill: Math.min(1, number(gang.fill, 0.6)), wait: number(gang.wait, 240), lead: number(gang.lead, 24) };
};
